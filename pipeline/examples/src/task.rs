//! A task: a position in which exactly one legal move restrains a piece, with the moves that come
//! near.

use hobble_terms::{Kind, words};
use hobble_tracks::chances::Way;
use hobble_tracks::trials::{Measures, Trial};
use serde::{Deserialize, Serialize};
use shakmaty::{Chess, Color, Move, Piece, Position, Square};

use crate::played::fen;
use crate::reference::GameReference;
use crate::replay::{label, squares};

/// Near misses that are shown.
const SHOWN: usize = 3;

/// A position with more moves than this that leave the piece as few squares but do not restrain
/// it asks nothing.
const MOST_AS_FEW: usize = 2;

/// A position with one answer: which move restrains the piece?
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Task {
    /// The position.
    pub fen: String,
    /// Side to move: `white` or `black`.
    pub to_move: String,
    /// Kind of the piece to be restrained.
    pub kind: Kind,
    /// Where it stands.
    pub square: String,
    /// Its safe squares now.
    pub safe: Vec<String>,
    /// The quiet move that gives nothing away and leaves it k safe squares or fewer without
    /// attacking it: one.
    pub answers: Vec<TaskAnswer>,
    /// A few moves that come near, those that leave the fewest squares first.
    pub near: Vec<NearMiss>,
    /// The game.
    pub game: GameReference,
}

words! {
    /// Why a move does not restrain a piece.
    Miss {
        /// It captures, promotes or gives check.
        Loud = "not quiet",
        /// It gives something away.
        GivesAway = "gives something away",
        /// It leaves the piece more squares.
        LeavesMore = "leaves more squares",
    }
}

/// A move that comes near to restraining the piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NearMiss {
    /// The move with its number.
    pub label: String,
    /// Why it does not restrain the piece.
    pub miss: Miss,
    /// Safe squares it leaves.
    pub safe: Vec<String>,
}

/// A move that restrains.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TaskAnswer {
    /// The move with its number.
    pub label: String,
    /// Square it left.
    pub from: String,
    /// Square it reached; for castling the king's.
    pub to: String,
    /// Whether it was played.
    pub played: bool,
    /// Safe squares it leaves.
    pub safe: Vec<String>,
}

/// The piece that is to be restrained; it is of the side that is not on move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Target {
    /// Its kind.
    pub kind: Kind,
    /// Where it stands.
    pub square: Square,
    /// Safe squares that it may have at most to count as restrained.
    pub k: u8,
}

impl Task {
    /// The position as a task; `None` where more than one legal move or none restrains the piece:
    /// quiet, giving nothing away, not attacking it (definitions, section 8). Nor may another quiet
    /// move that gives nothing away leave it as few squares by attacking it, or more than two other
    /// moves. Where something can be captured at a profit already, or the side on move is in check,
    /// another move matters more, and there is no task. `played` is the move of the game with its
    /// number.
    pub fn of(game: &GameReference, before: &Chess, target: Target, played: &str) -> Option<Task> {
        let Target { kind, square, k } = target;
        let owner = !before.turn();
        let piece = Piece {
            color: owner,
            role: kind.role(),
        };
        if before.board().piece_at(square) != Some(piece) {
            return None;
        }
        let measures = Measures::of(before);
        if !is_calm(before, &measures) {
            return None;
        }
        let free = measures.unit(square)?.safe;
        if free.count() <= usize::from(k) {
            return None;
        }
        let (answers, near) = sorted_out(before, &measures, target, played)?;
        let as_few = near.iter().filter(|near| near.safe.len() <= usize::from(k));
        if answers.len() != 1 || as_few.count() > MOST_AS_FEW {
            return None;
        }
        Some(Task {
            fen: fen(before),
            to_move: owner.fold_wb("black", "white").to_owned(),
            kind,
            square: square.to_string(),
            safe: squares(free),
            answers,
            near: near.into_iter().take(SHOWN).collect(),
            game: game.clone(),
        })
    }

    /// The answer.
    pub fn answer(&self) -> Option<&TaskAnswer> {
        self.answers.first()
    }

    /// Squares that the answer takes from the piece.
    pub fn taken(&self) -> Vec<String> {
        let left = self.answer().map_or(&[][..], |answer| &answer.safe);
        let taken = self.safe.iter().filter(|square| !left.contains(square));
        taken.cloned().collect()
    }
}

/// Whether no unit hangs, of either side, and the side on move is not in check.
fn is_calm(position: &Chess, measures: &Measures) -> bool {
    let hangs = |color| !measures.hanging(color).is_empty();
    !position.is_check() && !Color::ALL.into_iter().any(hangs)
}

/// The legal moves that restrain the piece, and those that come near, the fewest squares first;
/// `None` where a quiet move that gives nothing away leaves it as few by attacking it.
fn sorted_out(
    before: &Chess,
    measures: &Measures,
    target: Target,
    played: &str,
) -> Option<(Vec<TaskAnswer>, Vec<NearMiss>)> {
    let square = target.square;
    let hanging = measures.hanging(before.turn());
    let (mut answers, mut near) = (Vec::new(), Vec::new());
    for legal in before.legal_moves() {
        if legal.is_capture() && legal.to() == square {
            continue;
        }
        let trial = Trial::of(before, legal);
        let safe = trial.measures.unit(square)?.safe;
        let few = safe.count() <= usize::from(target.k);
        let miss = if !trial.is_quiet() {
            Miss::Loud
        } else if !trial.is_sound(measures, hanging) {
            Miss::GivesAway
        } else if !few {
            Miss::LeavesMore
        } else if trial.measures.is_attacked(square) {
            return None;
        } else {
            answers.push(answer(before, legal, squares(safe), played));
            continue;
        };
        if few || miss == Miss::LeavesMore {
            near.push(NearMiss {
                label: label(before, legal),
                miss,
                safe: squares(safe),
            });
        }
    }
    near.sort_by(|a, b| (a.safe.len(), a.miss, &a.label).cmp(&(b.safe.len(), b.miss, &b.label)));
    Some((answers, near))
}

fn answer(before: &Chess, legal: Move, safe: Vec<String>, played: &str) -> TaskAnswer {
    let label = label(before, legal);
    let way = Way::of(legal, before.turn());
    TaskAnswer {
        played: label == played,
        label,
        from: way.from.to_string(),
        to: way.to.to_string(),
        safe,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{MOVES, START, game};

    fn task(start: &str, k: u8) -> Option<Task> {
        let played = game(start, MOVES);
        let target = Target {
            kind: Kind::Bishop,
            square: Square::H2,
            k,
        };
        Task::of(&played.game, played.position(0)?, target, "1. g3")
    }

    /// By hand: 1. g3 leaves the bishop g1 alone, and nothing else does: 1. f4 leaves it g1 and g3.
    #[test]
    fn one_answer_by_hand() {
        let task = task(START, 1).unwrap();
        let answer = task.answer().unwrap();
        assert_eq!((answer.label.as_str(), answer.played), ("1. g3", true));
        assert_eq!(task.taken(), ["e5", "d6", "c7", "b8"]);
        assert_eq!(answer.safe, ["g1"]);
        assert!(task.near.iter().all(|near| near.safe.len() > 1));
        assert_eq!(task.near[0].miss, Miss::LeavesMore);
        assert_eq!(task.near[0].label, "1. f4");
    }

    /// A black rook on c8 takes the bishop on c1; one on a8 takes nothing.
    #[test]
    fn no_task_where_something_hangs() {
        let hanging = START.replace("5k2", "2r2k2");
        assert_eq!(task(&hanging, 1), None);
        let safe = START.replace("5k2", "r4k2");
        assert!(task(&safe, 1).is_some());
    }

    #[test]
    fn no_task_with_two_answers_or_none() {
        assert_eq!(task(START, 0), None);
        // With two squares to spare 1. f4 restrains it as well.
        assert_eq!(task(START, 2), None);
        // It has only one square as it is.
        assert_eq!(
            task(&START.replace("PPb", "1Pb").replace("KP3", "KP2P"), 4),
            None
        );
    }
}
