//! Which start positions are accepted (definitions, section 2).

use shakmaty::fen::{Fen, ParseFenError};
use shakmaty::{CastlingMode, Chess, FromSetup as _, PositionError};

use crate::variant::Variant;

/// Most units a start position may have.
pub const MOST_UNITS: usize = 32;

/// Why a start position is refused.
#[derive(Debug, thiserror::Error)]
pub enum StartError {
    /// The FEN cannot be read.
    #[error("unreadable position")]
    Unreadable(#[source] ParseFenError),
    /// It has more than [`MOST_UNITS`] units.
    #[error("a position of more than {MOST_UNITS} units")]
    TooManyUnits,
    /// The rules of chess do not allow it.
    #[error("impossible position")]
    Impossible(#[source] Box<PositionError<Chess>>),
}

/// The position of a FEN, as games may start from it.
///
/// Castling rights without a rook to castle with and an en passant square without a pawn are
/// dropped; more pieces than promotion allows are accepted up to [`MOST_UNITS`] units.
///
/// # Errors
///
/// Where the FEN cannot be read, or the rules of chess do not allow the position otherwise.
pub fn start_position(fen: &[u8], variant: Variant) -> Result<Chess, StartError> {
    let setup = Fen::from_ascii(fen)
        .map_err(StartError::Unreadable)?
        .into_setup();
    if setup.board.occupied().count() > MOST_UNITS {
        return Err(StartError::TooManyUnits);
    }
    // A standard game set up with displaced rooks can only mean castling as in Chess960.
    let mode = match variant {
        Variant::Chess960 => CastlingMode::Chess960,
        Variant::Standard => CastlingMode::detect(&setup),
    };
    Chess::from_setup(setup, mode)
        .or_else(PositionError::ignore_invalid_castling_rights)
        .or_else(PositionError::ignore_invalid_ep_square)
        .or_else(PositionError::ignore_too_much_material)
        .map_err(|error| StartError::Impossible(Box::new(error)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accepted_and_refused() {
        let start = |fen: &str| start_position(fen.as_bytes(), Variant::Standard);
        assert!(start("rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1").is_ok());
        // No rook for the rights, no pawn for the square.
        assert!(start("4k3/8/8/8/8/8/8/4K3 w KQ e6 0 1").is_ok());
        assert!(matches!(start("nonsense"), Err(StartError::Unreadable(_))));
        let no_king = start("4k3/8/8/8/8/8/8/8 w - - 0 1");
        assert!(matches!(no_king, Err(StartError::Impossible(_))));
        let many = start("rnbqkbnr/pppppppp/p7/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1");
        assert!(matches!(many, Err(StartError::TooManyUnits)));
    }
}
