//! One game, played out.

use shakmaty::{Chess, Color, Move, Position};

use crate::chance::Chance;
use crate::clock::{Clock, Control};
use crate::endings::{Mood, Remark, Score, Termination, by_rules};
use crate::engine::level::Level;
use crate::engine::search::{choose, key};
use crate::lessons::{LESSONS, set_up};
use crate::openings;
use crate::people::PLAYERS;
use crate::shuffled::{self, Rights};

/// Longest game the arbiter waits for, in plies.
const PATIENCE: usize = 400;

/// Where a game starts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// The usual start, first moves from the book.
    Usual,
    /// A shuffled start.
    Shuffled(u32, Rights),
    /// The lesson of that number.
    Lesson(usize),
}

/// What was to become of the game before it began.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Fate {
    /// Played to its end.
    Played,
    /// One side did not come: no move, a point for the other.
    Forfeit(Score),
    /// Broken off after that many plies.
    BrokenOff(usize),
}

/// Who plays what against whom.
#[derive(Clone, Copy, Debug)]
pub struct Pairing {
    /// Index of White.
    pub white: usize,
    /// Index of Black.
    pub black: usize,
    /// Its time control.
    pub control: Control,
    /// Its start.
    pub kind: Kind,
    /// Its fate.
    pub fate: Fate,
}

/// A game as it was played.
#[derive(Debug)]
pub struct Game {
    /// The position it starts from.
    pub start: Chess,
    /// The FEN tag, where it is not the usual start.
    pub fen: Option<String>,
    /// What stands before the first move.
    pub preface: Option<&'static str>,
    /// The moves.
    pub moves: Vec<Move>,
    /// Seconds left to the mover after each move; empty where no clock was written down.
    pub clocks: Vec<u32>,
    /// Its result.
    pub score: Score,
    /// How it ended.
    pub termination: Termination,
    /// The same in words.
    pub remark: Remark,
}

struct Start {
    position: Chess,
    fen: Option<String>,
    preface: Option<&'static str>,
    known: Vec<Move>,
}

impl Start {
    fn usual(known: Vec<Move>) -> Self {
        Self {
            position: Chess::default(),
            fen: None,
            preface: None,
            known,
        }
    }

    fn of(kind: Kind, chance: &mut Chance) -> Self {
        match kind {
            Kind::Usual => Self::usual(openings::draw_line(chance)),
            Kind::Shuffled(number, rights) => match shuffled::start(number, rights) {
                Some((position, fen)) => Self {
                    position,
                    fen: Some(fen),
                    preface: None,
                    known: Vec::new(),
                },
                None => Self::usual(Vec::new()),
            },
            Kind::Lesson(number) => {
                let lesson = &LESSONS[number % LESSONS.len()];
                match set_up(lesson) {
                    Some((position, known)) => Self {
                        position,
                        fen: Some(lesson.fen.to_owned()),
                        preface: Some(lesson.about),
                        known,
                    },
                    None => Self::usual(Vec::new()),
                }
            }
        }
    }
}

/// Plays a game out.
pub fn play(pairing: &Pairing, chance: &mut Chance) -> Game {
    let start = Start::of(pairing.kind, chance);
    let mut game = Game {
        start: start.position.clone(),
        fen: start.fen,
        preface: start.preface,
        moves: Vec::new(),
        clocks: Vec::new(),
        score: Score::Open,
        termination: Termination::Unterminated,
        remark: "Broken off.",
    };
    if let Fate::Forfeit(score) = pairing.fate {
        game.score = score;
        game.termination = Termination::Abandoned;
        game.remark = "The other side did not come.";
        return game;
    }
    let players = [pairing.white, pairing.black].map(|index| &PLAYERS[index]);
    let levels = players.map(|player| Level::of(player.strength, pairing.control.pace));
    let mut clocks = pairing
        .control
        .clock
        .map(|terms| [Clock::new(terms), Clock::new(terms)]);
    let mut position = start.position;
    let mut past = vec![key(&position)];
    let mut mood = Mood::default();
    // Lessons are played to the end: no side resigns or agrees to a draw.
    let to_the_end = matches!(pairing.kind, Kind::Lesson(_));
    loop {
        if let Some((score, remark)) = by_rules(&position, &past) {
            end(&mut game, score, Termination::Normal, remark);
            return game;
        }
        if breaks_off(&mut game, pairing.fate) {
            return game;
        }
        let plies = game.moves.len();
        let mover = position.turn();
        let side = usize::from(mover.is_black());
        let known = start.known.get(plies).copied();
        let played = if let Some(known) = known {
            known
        } else {
            let Some(choice) = choose(&position, &past, levels[side], chance) else {
                return game;
            };
            let resigns = mood.resigns(mover, players[side].strength, &choice, chance);
            if resigns && !to_the_end {
                end(
                    &mut game,
                    Score::win(!mover),
                    Termination::Normal,
                    mover.fold_wb("White resigns.", "Black resigns."),
                );
                return game;
            }
            choice.played
        };
        if let Some(clocks) = &mut clocks {
            match clocks[side].think(known.is_some(), players[side].slow, chance) {
                Some(left) => game.clocks.push(left),
                None => {
                    flag(&mut game, &position, mover);
                    return game;
                }
            }
        }
        position.play_unchecked(played);
        game.moves.push(played);
        past.push(key(&position));
        if !to_the_end
            && by_rules(&position, &past).is_none()
            && mood.agree(game.moves.len(), chance)
        {
            end(&mut game, Score::Drawn, Termination::Normal, "Draw agreed.");
            return game;
        }
    }
}

/// Whether a game stops here: its record breaks off, or it has taken too long.
fn breaks_off(game: &mut Game, fate: Fate) -> bool {
    let plies = game.moves.len();
    if let Fate::BrokenOff(last) = fate
        && plies >= last
    {
        return true;
    }
    if plies >= PATIENCE {
        end(
            game,
            Score::Drawn,
            Termination::Adjudication,
            "The hall closes; the arbiter calls it a draw.",
        );
        return true;
    }
    false
}

fn end(game: &mut Game, score: Score, termination: Termination, remark: Remark) {
    game.score = score;
    game.termination = termination;
    game.remark = remark;
}

/// A flag falls: the other side wins, if it could mate at all.
fn flag(game: &mut Game, position: &Chess, mover: Color) {
    if position.has_insufficient_material(!mover) {
        end(
            game,
            Score::Drawn,
            Termination::TimeForfeit,
            "The flag falls, but there is nothing left to mate with.",
        );
    } else {
        end(
            game,
            Score::win(!mover),
            Termination::TimeForfeit,
            mover.fold_wb("White's flag falls.", "Black's flag falls."),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clock::{ONE_MINUTE, POST, TEN_AND_FIVE};

    fn pairing(control: Control, kind: Kind, fate: Fate) -> Pairing {
        Pairing {
            white: 3,
            black: 7,
            control,
            kind,
            fate,
        }
    }

    #[test]
    fn every_move_is_legal_and_every_clock_reading_has_a_move() {
        for (seed, kind) in [
            Kind::Usual,
            Kind::Shuffled(77, Rights::Files),
            Kind::Lesson(3),
        ]
        .into_iter()
        .enumerate()
        {
            let asked = pairing(ONE_MINUTE, kind, Fate::Played);
            let game = play(&asked, &mut Chance::new(seed as u64, 0));
            let mut position = game.start.clone();
            for &played in &game.moves {
                assert!(position.is_legal(played));
                position.play_unchecked(played);
            }
            assert!(game.moves.len() > 4);
            assert_eq!(game.clocks.len(), game.moves.len());
            assert_ne!(game.score, Score::Open);
        }
    }

    #[test]
    fn fates_are_kept() {
        let mut chance = Chance::new(4, 0);
        let none = play(
            &pairing(TEN_AND_FIVE, Kind::Usual, Fate::Forfeit(Score::Black)),
            &mut chance,
        );
        assert!(none.moves.is_empty() && none.score == Score::Black);
        let off = play(
            &pairing(POST, Kind::Usual, Fate::BrokenOff(12)),
            &mut chance,
        );
        assert_eq!((off.moves.len(), off.score), (12, Score::Open));
        assert!(off.clocks.is_empty());
    }

    #[test]
    fn a_flag_against_a_bare_king_is_a_draw() {
        let mut game = play(
            &pairing(POST, Kind::Usual, Fate::BrokenOff(0)),
            &mut Chance::new(0, 0),
        );
        let position: Chess = "7k/8/8/8/8/8/8/K5Q1 w - - 0 1"
            .parse::<shakmaty::fen::Fen>()
            .expect("it reads")
            .into_position(shakmaty::CastlingMode::Standard)
            .expect("it is possible");
        flag(&mut game, &position, Color::White);
        assert_eq!(game.score, Score::Drawn);
        flag(&mut game, &position, Color::Black);
        assert_eq!(game.score, Score::White);
    }
}
