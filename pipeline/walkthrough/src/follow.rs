//! A game's positions, moves, spells and captures, from its text.

use hobble_game::check::skip_at_move;
use hobble_game::comment::Eval;
use hobble_game::id::IdWriter;
use hobble_game::reader::GameReader;
use hobble_game::san::{refusal, resolve, with_piece};
use hobble_game::skip::Skip;
use hobble_game::start::start;
use hobble_terms::Reason;
use hobble_terms::number::count;
use hobble_tracks::capture_runs::Victim;
use hobble_tracks::ply::Ply;
use hobble_tracks::roster::{Roster, Slot};
use hobble_tracks::spell::{Capture, Spell};
use hobble_tracks::track::Track;
use hobble_tracks::trials::Measures;
use shakmaty::san::SanPlus;
use shakmaty::{Bitboard, Chess, Color, Move, Position as _, Role, Square};

use crate::heading::Heading;

/// Longest game that is walked through, in plies: each position takes room in the page.
pub const MOST_PLIES: usize = 1000;

/// A unit at a position.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unit {
    /// Which unit of the game it is (definitions, section 2).
    pub slot: Slot,
    /// Where it stands.
    pub square: Square,
    /// Its safe squares, the turn passed where its owner is not on move.
    pub safe: Bitboard,
}

/// A position of the game.
#[derive(Clone, Debug)]
pub struct Position {
    /// The position.
    pub chess: Chess,
    /// What is measured there.
    pub measures: Measures,
    /// Units in the order of their squares.
    pub units: Vec<Unit>,
    /// Scope of White and of Black, in squares.
    pub scope: [u16; 2],
}

impl Position {
    /// A unit of the position; `None` where it is not on the board.
    pub fn unit(&self, slot: Slot) -> Option<&Unit> {
        self.units.iter().find(|unit| unit.slot == slot)
    }
}

/// A unit of the game.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Being {
    /// Its kind.
    pub kind: Role,
    /// Its owner.
    pub color: Color,
    /// First position with it: 0, or the ply of its promotion.
    pub birth: usize,
    /// Where it stood first.
    pub first: Square,
    /// First position at which it is developed; `None` for never.
    pub developed: Option<usize>,
    /// Its capture, if any.
    pub capture: Option<Capture>,
    /// Ply by which it left the board, captured or promoted.
    pub gone: Option<usize>,
}

/// A ply of the game.
#[derive(Clone, Debug)]
pub struct Played {
    /// The move.
    pub played: Move,
    /// What it did, as the tables say.
    pub facts: Ply,
    /// Whose it was.
    pub side: Color,
    /// Its text: `12. c5`, `12...Nd7`.
    pub label: String,
    /// The move alone.
    pub san: String,
    /// Seconds left to the side after it.
    pub clock: Option<f32>,
    /// Evaluation after it.
    pub eval: Option<Eval>,
}

/// A game that was followed.
#[derive(Clone, Debug)]
pub struct Followed {
    /// Who played.
    pub heading: Heading,
    /// Positions 0 to P.
    pub positions: Vec<Position>,
    /// Plies 1 to P; ply i at i − 1.
    pub plies: Vec<Played>,
    /// Units by slot.
    pub beings: Vec<Being>,
    /// Spells, in the order they ended.
    pub spells: Vec<Spell>,
    /// Captured units in order, with what became of them.
    pub captures: Vec<(Victim, Capture)>,
}

impl Followed {
    /// Where a unit stands at a position, or stood last.
    pub fn square_at(&self, slot: Slot, position: usize) -> Square {
        self.positions[..=position.min(self.positions.len() - 1)]
            .iter()
            .rev()
            .find_map(|position| position.unit(slot))
            .map_or(self.beings[usize::from(slot)].first, |unit| unit.square)
    }

    /// Safe squares of a unit at a position; none where it is not on the board.
    pub fn safe_at(&self, slot: Slot, position: usize) -> Bitboard {
        self.positions
            .get(position)
            .and_then(|position| position.unit(slot))
            .map_or(Bitboard::EMPTY, |unit| unit.safe)
    }

    /// A ply by its number, from 1.
    pub fn ply(&self, number: usize) -> Option<&Played> {
        self.plies.get(number.checked_sub(1)?)
    }

    /// What a ply is called: `12. c5`.
    pub fn label(&self, number: usize) -> &str {
        self.ply(number).map_or("the start", |ply| &ply.label)
    }
}

/// Follows games, keeping its buffers.
pub struct Follower {
    reader: GameReader,
    track: Track,
    ids: IdWriter,
}

impl Default for Follower {
    fn default() -> Self {
        Follower::new()
    }
}

impl Follower {
    /// A follower with empty buffers.
    pub fn new() -> Follower {
        Follower {
            reader: GameReader::new(),
            track: Track::new(),
            ids: IdWriter::default(),
        }
    }

    /// The id of a game; `None` where it cannot be followed.
    pub fn id(&mut self, text: &[u8]) -> Option<u64> {
        let game = self.reader.read(text).ok()?;
        let mut position = start(&game.tags, text).ok()?.position;
        self.ids.begin(&game.tags);
        for &san in &game.moves {
            let played = resolve(san, &position).ok()?;
            self.ids.play(played, position.turn());
            position.play_unchecked(played);
        }
        Some(self.ids.ids().game)
    }

    /// Reads and follows a game.
    ///
    /// # Errors
    ///
    /// Why the scan would skip it; or where it has more than [`MOST_PLIES`].
    pub fn follow(&mut self, text: &[u8]) -> Result<Followed, Skip> {
        let game = self.reader.read(text)?;
        let start = start(&game.tags, text)?;
        if game.moves.len() > MOST_PLIES {
            let (plies, most) = (count(game.moves.len() as u64), count(MOST_PLIES as u64));
            return Err(Skip {
                words: format!("{plies} plies, a page has {most} at most"),
                ..Skip::whole(Reason::TooLong)
            });
        }
        let (track, ids) = (&mut self.track, &mut self.ids);
        ids.begin(&game.tags);
        track.begin(&start.position);
        let mut roster = Roster::default();
        roster.begin(start.position.board());
        let mut beings = Beings::default();
        beings.meet(&roster, 0);
        let mut positions = vec![position(track.position(), &roster)];
        let mut moves = Vec::with_capacity(game.moves.len());
        for (nth, &san) in game.moves.iter().enumerate() {
            let san = with_piece(san, track.position());
            let played = track
                .resolve(san)
                .map_err(|error| skip_at_move(refusal(san, error), game, text, nth))?;
            let before = track.position().clone();
            let side = before.turn();
            ids.play(played, side);
            track.play(played);
            roster.play(played, side, nth as u16 + 1);
            beings.meet(&roster, nth + 1);
            positions.push(position(track.position(), &roster));
            moves.push((played, side, label(&before, played)));
        }
        track.finish();
        let captures: Vec<_> = track
            .captures()
            .map(|(victim, fate)| (*victim, fate))
            .collect();
        let plies = moves
            .into_iter()
            .zip(track.plies())
            .enumerate()
            .map(|(nth, ((played, side, (label, san)), &facts))| Played {
                played,
                facts,
                side,
                label,
                san,
                clock: game.clocks[nth],
                eval: game.evals[nth],
            })
            .collect();
        Ok(Followed {
            heading: Heading::new(game, &start, ids.ids()),
            positions,
            plies,
            beings: beings.end(&roster, &captures),
            spells: track.spells().to_vec(),
            captures,
        })
    }
}

/// A position with its units measured.
fn position(chess: &Chess, roster: &Roster) -> Position {
    let measures = Measures::of(chess);
    let mut scope = [0; 2];
    let units = chess
        .board()
        .iter()
        .map(|(square, piece)| {
            let safe = measures
                .unit(square)
                .map_or(Bitboard::EMPTY, |unit| unit.safe);
            scope[piece.color.fold_wb(0, 1)] += safe.count() as u16;
            Unit {
                slot: roster.at(square),
                square,
                safe,
            }
        })
        .collect();
    Position {
        chess: chess.clone(),
        measures,
        units,
        scope,
    }
}

/// What a move is called with its number, and alone.
pub fn label(position: &Chess, played: Move) -> (String, String) {
    let san = SanPlus::from_move(position.clone(), played).to_string();
    let dots = position.turn().fold_wb(". ", "...");
    (format!("{}{dots}{san}", position.fullmoves()), san)
}

/// The units met so far.
#[derive(Default)]
struct Beings(Vec<Being>);

impl Beings {
    /// Takes note of new units and of those developed at a position.
    fn meet(&mut self, roster: &Roster, position: usize) {
        for slot in 0..roster.len() as Slot {
            let nth = usize::from(slot);
            if nth == self.0.len() {
                self.0.push(Being {
                    kind: roster.kind(slot),
                    color: roster.color(slot),
                    birth: position,
                    first: roster.square(slot),
                    developed: None,
                    capture: None,
                    gone: None,
                });
            }
            if roster.is_developed(slot) {
                self.0[nth].developed.get_or_insert(position);
            }
        }
    }

    /// The units with what became of them.
    fn end(mut self, roster: &Roster, captures: &[(Victim, Capture)]) -> Vec<Being> {
        for (slot, being) in self.0.iter_mut().enumerate() {
            being.gone = roster.gone(slot as Slot);
        }
        for (victim, capture) in captures {
            self.0[usize::from(victim.slot)].capture = Some(*capture);
        }
        self.0
    }
}
