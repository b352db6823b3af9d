//! The course of a restraint on the board: what the restraining move did, and how the piece
//! stood at each turn of its owner until it was captured or freed.

use hobble_conditions::AskError;
use hobble_report::number;
use hobble_terms::Table;
use hobble_tracks::survey::Survey;
use shakmaty::{Bitboard, Chess, Color, Move, Position, Square, attacks};

use crate::loose;
use crate::played::Played;
use crate::reference::MoveReference;
use crate::replay::moved_to;
use crate::restraint::Restraint;

/// How a piece stands at a turn of its owner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turn {
    /// Plies played before it.
    pub ply: u32,
    /// Where the piece stands.
    pub square: Square,
    /// Its safe squares.
    pub safe: usize,
    /// What the opponent nets by capturing it, in pawns; 0 where that wins nothing.
    pub threat: i32,
}

/// Pawns that must be at stake for a piece to be under threat.
pub const THREAT: i32 = 2;

/// A restraint played through.
#[derive(Debug, Clone)]
pub struct Course {
    /// The position before the restraining move.
    pub before: Chess,
    /// The one after it.
    pub after: Chess,
    /// The restraining move.
    pub cause: MoveReference,
    /// Where the piece stood.
    pub square: Square,
    /// Safe squares before.
    pub safe_before: Bitboard,
    /// Safe squares after.
    pub safe_after: Bitboard,
    /// Those of the squares taken that the unit that moved attacks now.
    pub covered: Bitboard,
    /// What the owner nets by capturing the unit that moved; 0 where that wins nothing.
    pub mover_loose: i32,
    /// The most the owner can win at once by any capture.
    pub side_loose: i32,
    /// The most the restraining side threatens to win elsewhere.
    pub other_threat: i32,
    /// Turns of the owner up to the capture or the freeing move, the first of the spell first.
    pub turns: Vec<Turn>,
    /// Moves of the piece from the first to the last of these turns.
    pub moves: u32,
    /// How many of them captured.
    pub captures: u32,
    /// Balance of the owner at the turn at which the threat that led to the capture came up,
    /// or else at the last turn.
    pub balance: i32,
    /// Whether the unit that made the restraining move still stood there then.
    pub stands: bool,
    /// The most that was at stake elsewhere then: two things attacked at once.
    pub fork: i32,
}

impl Course {
    /// Follows a restraint through its game, up to the capture where the piece was captured
    /// before it had more squares again, else to the end of its spell.
    ///
    /// # Errors
    ///
    /// Where the game does not agree with the table of spells.
    pub fn of(played: &Played, spell: &Restraint) -> Result<Course, AskError> {
        let bad = |what: String| {
            AskError::bad_table(Table::Moves, format!("{what}, in {}", played.game.label))
        };
        let color = Color::from_white(spell.white);
        let square: Square = spell
            .square
            .parse()
            .map_err(|_| bad(format!("invalid square \"{}\"", spell.square)))?;
        let start = spell.start;
        let (Some(cause), Some(before), Some(after), Some(moved)) = (
            played.reference(start),
            start.checked_sub(1).and_then(|ply| played.position(ply)),
            played.position(start),
            played.played(start),
        ) else {
            return Err(bad(format!("the game has no ply {start}")));
        };
        let survey = Survey::of(after);
        let safe_before = safe(&Survey::of(before), spell, square, spell.safe_before, &bad)?;
        let safe_after = safe(&survey, spell, square, spell.safe, &bad)?;
        let board = after.board();
        let arrived = arrival(moved, !color);
        let reached = board.piece_at(arrived).map_or(Bitboard::EMPTY, |unit| {
            attacks::attacks(arrived, unit, board.occupied())
        });
        let mut course = Course {
            before: before.clone(),
            after: after.clone(),
            cause,
            square,
            safe_before,
            safe_after,
            covered: safe_before & !safe_after & reached,
            mover_loose: loose::gain(&survey, board, arrived).unwrap_or(0).max(0),
            side_loose: loose::most(&survey, board, !color, None),
            other_threat: loose::most(&survey, board, color, Some(square)),
            turns: Vec::new(),
            moves: 0,
            captures: 0,
            balance: 0,
            stands: false,
            fork: 0,
        };
        course.follow(played, spell, color)?;
        course.judge_threat(played, color, arrived);
        Ok(course)
    }

    /// Walks from the start of the spell to its end.
    fn follow(&mut self, played: &Played, spell: &Restraint, color: Color) -> Result<(), AskError> {
        let mut square = self.square;
        for ply in spell.start..spell.end_ply.min(played.len()) {
            let Some(position) = played.position(ply) else {
                break;
            };
            if position.turn() == color {
                let survey = Survey::of(position);
                let unit = survey.unit(square);
                let unit =
                    unit.filter(|unit| unit.color == color && unit.kind == spell.kind.role());
                let safe = unit.map(|unit| unit.safe.count()).ok_or_else(|| {
                    let what = format!(
                        "no {} stands on {square} after ply {ply}, in {}",
                        spell.kind, played.game.label
                    );
                    AskError::bad_table(Table::Moves, what)
                })?;
                let threat = loose::gain(&survey, position.board(), square);
                self.turns.push(Turn {
                    ply,
                    square,
                    safe,
                    threat: threat.unwrap_or(0).max(0),
                });
            }
            if let Some(next) = played.played(ply + 1)
                && let Some(arrived) = moved_to(next, square, position.turn())
            {
                square = arrived;
                // A piece that is lost anyway may take something with it.
                if ply + 2 < spell.end_ply {
                    self.moves += 1;
                    self.captures += u32::from(next.is_capture());
                }
            }
        }
        Ok(())
    }

    /// What stood on the board when the threat came up.
    fn judge_threat(&mut self, played: &Played, color: Color, arrived: Square) {
        let quiet = self.quiet_turns();
        let Some(turn) = self.turns.get(quiet).or(self.turns.last()) else {
            return;
        };
        let Some(position) = played.position(turn.ply) else {
            return;
        };
        let board = position.board();
        self.balance = loose::balance(board, color);
        self.stands = board.piece_at(arrived).is_some()
            && board.piece_at(arrived) == self.after.board().piece_at(arrived);
        self.fork = loose::most(&Survey::of(position), board, color, Some(turn.square));
    }

    /// Turns before the threat that led to the capture came up: from there on the piece was
    /// under threat at every turn.
    pub fn quiet_turns(&self) -> usize {
        let under_threat = |turn: &&Turn| turn.threat >= THREAT;
        self.turns.len() - self.turns.iter().rev().take_while(under_threat).count()
    }

    /// Squares taken.
    pub fn taken(&self) -> Bitboard {
        self.safe_before & !self.safe_after
    }

    /// The move with which the threat came up; `None` where there was none, or where it was
    /// there from the start.
    pub fn threat(&self, played: &Played) -> Option<MoveReference> {
        let turn = self.turns.get(self.quiet_turns().max(1))?;
        played.reference(turn.ply)
    }
}

/// Safe squares of the piece, whose number must be that of the table.
fn safe(
    survey: &Survey,
    spell: &Restraint,
    square: Square,
    count: u8,
    bad: &impl Fn(String) -> AskError,
) -> Result<Bitboard, AskError> {
    let color = Color::from_white(spell.white);
    let unit = survey
        .unit(square)
        .filter(|unit| unit.color == color && unit.kind == spell.kind.role())
        .ok_or_else(|| bad(format!("no {} stands on {square}", spell.kind)))?;
    if unit.safe.count() != usize::from(count) {
        return Err(bad(format!(
            "the {} on {square} has {} where the table of spells says {count}",
            spell.kind,
            number::counted(unit.safe.count() as u64, "safe square")
        )));
    }
    Ok(unit.safe)
}

/// Where the unit that moved arrived; for castling the rook, which does what there is to do.
fn arrival(played: Move, side: Color) -> Square {
    match played.castling_side() {
        Some(castling) => castling.rook_to(side),
        None => played.to(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::replay::squares;
    use crate::sample::{MOVES, START, game, spell};

    /// By hand: 1. g3 takes the diagonal from the bishop (on g3 a pawn would take it back) and
    /// leaves g1; from f1 the king covers g1 too, and from g2 it attacks the bishop.
    #[test]
    fn squares_and_turns_by_hand() {
        let played = game(START, MOVES);
        let course = Course::of(&played, &spell()).unwrap();
        assert_eq!(course.cause.label, "1. g3");
        assert_eq!(squares(course.safe_before), ["g1", "e5", "d6", "c7", "b8"]);
        assert_eq!(squares(course.safe_after), ["g1"]);
        assert_eq!(squares(course.taken()), ["e5", "d6", "c7", "b8"]);
        assert_eq!(course.covered, Bitboard::EMPTY);
        let turns: Vec<(u32, usize, i32)> = course
            .turns
            .iter()
            .map(|turn| (turn.ply, turn.safe, turn.threat))
            .collect();
        assert_eq!(turns, [(1, 1, 0), (3, 1, 0), (5, 0, 0), (7, 0, 3)]);
        assert_eq!(course.quiet_turns(), 3);
        assert_eq!(course.threat(&played).unwrap().label, "4. Kg2");
        assert_eq!((course.mover_loose, course.side_loose), (0, 0));
        assert_eq!((course.moves, course.captures), (0, 0));
        assert!(course.stands);
    }

    #[test]
    fn a_game_that_does_not_agree_is_refused() {
        let played = game(START, MOVES);
        let refuse = |spell: Restraint| Course::of(&played, &spell).unwrap_err().to_string();
        let more = Restraint { safe: 2, ..spell() };
        assert!(refuse(more).contains("has 1 safe square where the table of spells says 2"));
        let elsewhere = Restraint {
            square: "d4".into(),
            ..spell()
        };
        assert!(refuse(elsewhere).contains("no bishop stands on d4, in a game"));
        let later = Restraint {
            start: 11,
            end_ply: 13,
            ..spell()
        };
        assert!(refuse(later).contains("the game has no ply 11, in a game"));
    }
}
