//! Words of restriction: causes and ends of spells, fates of pieces, horizons
//! (definitions, sections 6 to 8).

use shakmaty::Role;

use crate::words;

/// Restriction is recorded for k from 0 to this many safe squares.
pub const MAX_K: u8 = 4;

/// Highest k at which a landmark puts a turn into the table `turns`: 1 for knights and bishops,
/// 2 for rooks and queens, which have more squares to lose.
#[inline]
pub const fn landmark_k(kind: Role) -> u8 {
    match kind {
        Role::Rook | Role::Queen => 2,
        _ => 1,
    }
}

/// Plies from the start of a restraint to its landmark, its owner's next turn (definitions,
/// section 6): what follows is counted from there.
pub const PLIES_TO_LANDMARK: u16 = 2;

/// The k at which other pieces of a side are counted as held or restrained.
pub const OTHERS_K: u8 = 2;

/// Horizons in moves for which the exposure cube holds outcomes.
pub const HORIZONS: [usize; 5] = [3, 5, 10, 15, 20];

words! {
    /// How a piece came to be restricted.
    CauseKind {
        /// It never yet had more squares.
        Undeveloped = "undeveloped",
        /// A move of the opponent took squares away.
        Taken = "taken",
        /// A move of another own unit did it.
        Blocked = "blocked",
        /// The piece went there itself.
        Entered = "entered",
        /// A pin did it.
        Pinned = "pinned",
    }
}

words! {
    /// Whose ply did something, seen from the owner of the piece.
    By {
        /// The owner's.
        Own = "own",
        /// The opponent's.
        Opponent = "opponent",
    }
}

words! {
    /// What became of a piece (definitions, section 7).
    Fate {
        /// Captured, left over in pairing off, its owner 2 or more down by the capture run.
        Lost = "lost",
        /// Captured, neither lost nor sold.
        Traded = "traded",
        /// Captured, its owner 2 or more up by the capture run.
        Sold = "sold",
        /// Not captured.
        Survived = "survived",
    }
}

impl Fate {
    /// Fates of a captured unit.
    pub const CAPTURED: [Fate; 3] = [Fate::Lost, Fate::Traded, Fate::Sold];
}

words! {
    /// How a spell ended.
    SpellEnd {
        /// The piece was captured and lost.
        Lost = "lost",
        /// The piece was captured and traded.
        Traded = "traded",
        /// The piece was captured and sold.
        Sold = "sold",
        /// The piece had more squares again at its owner's next turn.
        Freed = "freed",
        /// The game ended first.
        GameOver = "game over",
    }
}

words! {
    /// What is counted as having happened to a piece (definitions, section 7).
    Outcome {
        /// Captured and lost.
        Lost = "lost",
        /// Captured in any way: lost, traded or sold.
        Captured = "captured",
        /// Captured and traded.
        Traded = "traded",
        /// Captured and sold.
        Sold = "sold",
    }
}
