//! What one ply did (definitions, section 5).

use shakmaty::{Role, Square};

/// What one ply did (definitions, section 5).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ply {
    /// Kind of unit that moved.
    pub mover: Role,
    /// Square it left.
    pub from: Square,
    /// Square it reached; the king's for castling.
    pub to: Square,
    /// Kind of unit captured.
    pub captured: Option<Role>,
    /// Kind of piece promoted to.
    pub promotion: Option<Role>,
    /// Whether it gives check.
    pub check: bool,
    /// Whether it is castling.
    pub castling: bool,
    /// Whether it captures en passant.
    pub en_passant: bool,
    /// Sum of legal destinations of the mover's units before it.
    pub legal: u8,
    /// Squares taken from the opponent.
    pub taken: u8,
    /// Squares given to the opponent.
    pub given: u8,
    /// Squares taken from the mover's own units.
    pub own_taken: u8,
    /// Squares given to the mover's own units.
    pub own_given: u8,
    /// Safe mobility of the captured unit before it.
    pub captured_safe: Option<u8>,
    /// Safe mobility after it: white's, black's; pawn, knight, bishop, rook, queen, king.
    pub safe: [[u8; 6]; 2],
}

impl Ply {
    /// Whether it neither captures, promotes nor checks (definitions, section 5).
    pub const fn is_quiet(&self) -> bool {
        self.captured.is_none() && self.promotion.is_none() && !self.check
    }
}
