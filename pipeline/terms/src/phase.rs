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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cuts_by_position_and_points() {
        for (position, points, phase) in [
            (19, 56, Phase::Opening),
            (20, 62, Phase::Middlegame),
            (3, 55, Phase::Middlegame),
            (40, 27, Phase::Middlegame),
            (3, 26, Phase::Endgame),
        ] {
            assert_eq!(Phase::at(position, points), phase);
        }
    }
}
