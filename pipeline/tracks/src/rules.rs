//! What the rules add to the board.

use shakmaty::{Castles, Chess, Color, EnPassantMode, Position, Square};

/// What the rules add to the board: castling rights, and en passant for the side on move.
#[derive(Clone, Copy)]
pub struct Rules<'a> {
    /// Castling rights of both sides.
    pub castles: &'a Castles,
    /// Square behind a pawn that has just made a double step.
    pub en_passant: Option<Square>,
    /// Side on move.
    pub turn: Color,
}

impl<'a> Rules<'a> {
    /// The rules' part of a position.
    pub fn of(position: &'a Chess) -> Rules<'a> {
        Rules {
            castles: position.castles(),
            en_passant: position.ep_square(EnPassantMode::Always),
            turn: position.turn(),
        }
    }
}
