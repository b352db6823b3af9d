//! Phase of the game (definitions, section 9).

use crate::words;

words! {
    /// Phase of the game by material without pawns and kings (our own cut).
    Phase {
        /// First ten moves with at least 56 of 62 points of pieces left.
        Opening = "opening",
        /// Neither of the others.
        Middlegame = "middlegame",
        /// At most 26 points of pieces left.
        Endgame = "endgame",
    }
}

impl Phase {
    /// Phase at position `position` with `pieces` points of knights, bishops, rooks and
    /// queens of both sides on the board.
    #[inline]
    pub const fn at(position: usize, pieces: i32) -> Phase {
        if position < 20 && pieces >= 56 {
            Phase::Opening
        } else if pieces <= 26 {
            Phase::Endgame
        } else {
            Phase::Middlegame
        }
    }
}
