//! The legal move that a move in a game's text means.

use hobble_terms::Reason;
use shakmaty::san::{San, SanError};
use shakmaty::{Chess, Move};

/// The move that a SAN means in a position.
///
/// # Errors
///
/// Where the rules do not allow it, or it could mean several.
#[inline]
pub fn resolve(san: San, position: &Chess) -> Result<Move, Reason> {
    san.to_move(position).map_err(|error| refusal(san, error))
}

/// Why a SAN that means no move is refused.
pub fn refusal(san: San, error: SanError) -> Reason {
    match (san, error) {
        (San::Null, _) => Reason::NullMove,
        (_, SanError::AmbiguousSan) => Reason::AmbiguousMove,
        (_, SanError::IllegalSan) => Reason::IllegalMove,
    }
}
