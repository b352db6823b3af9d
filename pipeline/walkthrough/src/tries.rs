//! Every legal move of a position tried: what it would take from each unit and give to it
//! (definitions, section 5).

use hobble_tracks::roster::Slot;
use hobble_tracks::trials::{Left, Trial, left};
use shakmaty::{Bitboard, CastlingSide, Chess, Move, Position as _, Square};

use crate::follow::{Position, label};

/// What a move changes for a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    /// The unit.
    pub slot: Slot,
    /// Safe squares the move takes from it.
    pub taken: Bitboard,
    /// Safe squares the move gives it.
    pub given: Bitboard,
}

/// A legal move tried.
#[derive(Clone, Debug)]
pub struct Tried {
    /// The move.
    pub played: Move,
    /// Its text with the number: `12. c5`.
    pub label: String,
    /// The move alone.
    pub san: String,
    /// Square its unit leaves; the king's for castling.
    pub from: Square,
    /// Square its unit reaches; the king's for castling.
    pub to: Square,
    /// Where the rook goes from and to in castling.
    pub rook: Option<(Square, Square)>,
    /// Where a unit is captured.
    pub captured: Option<Square>,
    /// Units whose safe squares change, by slot; the captured unit and a pawn that promotes
    /// are left out.
    pub changes: Vec<Change>,
    /// Squares taken from and given to the opponent, taken from and given to the mover's own
    /// units: the columns of the same names in `moves`.
    pub sums: [u16; 4],
    /// What it leaves the enemy pieces, where it is quiet and gives nothing away.
    pub quiet: Option<Vec<Left>>,
    /// The position after it.
    pub after: Chess,
}

/// All legal moves of a position, in the order of squares left and reached.
pub fn tries(position: &Position) -> Vec<Tried> {
    let hanging = position.measures.hanging(position.chess.turn());
    let mut tries: Vec<Tried> = position
        .chess
        .legal_moves()
        .into_iter()
        .map(|played| tried(position, played, hanging))
        .collect();
    tries.sort_by_key(|tried| {
        (
            tried.from,
            tried.to,
            tried.played.promotion().map(u32::from),
        )
    });
    tries
}

/// A legal move of a position tried; `hanging` is what hangs there of the mover's side.
fn tried(position: &Position, played: Move, hanging: Bitboard) -> Tried {
    let chess = &position.chess;
    let mover = chess.turn();
    let trial = Trial::of(chess, played);
    let rook = match played {
        Move::Castle { king, rook } => {
            let side = CastlingSide::from_queen_side(rook < king);
            Some((rook, side.rook_to(mover)))
        }
        _ => None,
    };
    let captured = match played {
        Move::EnPassant { from, to } => Some(Square::from_coords(to.file(), from.rank())),
        _ => played.capture().map(|_| trial.to),
    };
    let mut changes = Vec::new();
    let mut sums = [0; 4];
    for unit in &position.units {
        let moves = unit.square == trial.from;
        if captured == Some(unit.square) || moves && played.is_promotion() {
            continue;
        }
        let square = match rook {
            Some((from, to)) if unit.square == from => to,
            _ if moves => trial.to,
            _ => unit.square,
        };
        let after = trial
            .measures
            .unit(square)
            .map_or(Bitboard::EMPTY, |unit| unit.safe);
        let change = Change {
            slot: unit.slot,
            taken: unit.safe & !after,
            given: after & !unit.safe,
        };
        if change.taken.is_empty() && change.given.is_empty() {
            continue;
        }
        let own = chess.board().by_color(mover).contains(unit.square);
        let first = if own { 2 } else { 0 };
        sums[first] += change.taken.count() as u16;
        sums[first + 1] += change.given.count() as u16;
        changes.push(change);
    }
    changes.sort_by_key(|change| change.slot);
    let (label, san) = label(chess, played);
    let quiet = (trial.is_quiet() && trial.is_sound(&position.measures, hanging))
        .then(|| left(chess, &position.measures, &trial.measures));
    Tried {
        played,
        label,
        san,
        from: trial.from,
        to: trial.to,
        rook,
        captured,
        changes,
        sums,
        quiet,
        after: trial.after,
    }
}
