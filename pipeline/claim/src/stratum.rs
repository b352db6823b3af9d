//! What must be equal for a free piece to be comparable with one of the claim's, packed in a
//! number.

use serde::{Deserialize, Serialize};

use super::turn::Turn;
use hobble_conditions::circumstances::{Balance, moves, others_held, squares_before};
use hobble_conditions::terms::RatingDiff;

/// Everything that is or may be matched, a few bits each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Stratum(u64);

/// Bits of a stratum: how many, and from where.
struct Bits {
    from: u32,
    number: u32,
}

const OTHERS: Bits = Bits::new(0, 2);
const DEFENDED: Bits = Bits::new(2, 1);
const ATTACKED: Bits = Bits::new(3, 1);
const BEFORE: Bits = Bits::new(4, 3);
const BALANCE: Bits = Bits::new(7, 2);
const PLY: Bits = Bits::new(9, 3);
const TIME_CLASS: Bits = Bits::new(12, 4);
const PHASE: Bits = Bits::new(16, 2);
const KIND: Bits = Bits::new(18, 3);
const FORWARD: Bits = Bits::new(21, 2);
const EDGE: Bits = Bits::new(23, 1);
const BAND: Bits = Bits::new(24, 36);
const RATING_DIFF: Bits = Bits::new(60, 4);

impl Bits {
    const fn new(from: u32, number: u32) -> Bits {
        Bits { from, number }
    }

    const fn of(self, stratum: Stratum) -> u64 {
        stratum.0 >> self.from & (u64::MAX >> (64 - self.number))
    }

    fn put(self, value: u64) -> u64 {
        (value & (u64::MAX >> (64 - self.number))) << self.from
    }

    const fn mask(self) -> u64 {
        (u64::MAX >> (64 - self.number)) << self.from
    }
}

/// What is matched; the rest of a stratum is not looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Matched(u64);

/// What is matched only where that is asked for: attacked now follows from the restraint, and
/// where a piece stands makes strata thin.
const ASKED: u64 = ATTACKED.mask() | PLACE;

/// Where the piece stands: pair of rows, seen from its owner, and edge of the board.
const PLACE: u64 = FORWARD.mask() | EDGE.mask();

impl Matched {
    /// What is matched for restrained pieces.
    pub const RESTRAINED: Matched = Matched(!ASKED);
    /// For held ones, which may be attacked from the first: that as well.
    pub const HELD: Matched = Matched(!PLACE);
    /// Attacked now as well.
    pub const ATTACKED_TOO: Matched = Matched(!PLACE);
    /// Where it stands as well.
    pub const PLACE_TOO: Matched = Matched(!ATTACKED.mask());
    /// All but the position's balance, the number of the move, the squares the piece had
    /// before and the other pieces held.
    pub const BUT_POSITION: Matched =
        Matched(!(ASKED | BALANCE.mask() | PLY.mask() | BEFORE.mask() | OTHERS.mask()));
    /// All but what may follow from the restraint by now: attacked, defended, others held.
    pub const BEFORE_ONLY: Matched = Matched(!(ASKED | DEFENDED.mask() | OTHERS.mask()));
}

impl Stratum {
    /// Of a piece, where the claim is about at most `k` safe squares.
    pub fn of(turn: &Turn, k: u8) -> Stratum {
        Stratum(
            OTHERS.put(others_held(turn.others_held).into())
                | DEFENDED.put(turn.defended.into())
                | ATTACKED.put(turn.attacked.into())
                | BEFORE.put(squares_before(turn.before[1], k).into())
                | BALANCE.put(Balance::of(turn.balance) as u64)
                | PLY.put(moves(turn.ply).into())
                | TIME_CLASS.put(turn.time_class as u64)
                | PHASE.put(turn.phase as u64)
                | KIND.put(turn.kind as u64)
                | FORWARD.put((turn.forward / 2).into())
                | EDGE.put(turn.at_edge.into())
                | BAND.put(turn.band),
        )
    }

    /// The same with the owner's rating less the opponent's, which a score is matched by as well.
    pub fn with_rating_diff(self, diff: RatingDiff) -> Stratum {
        Stratum(self.0 | RATING_DIFF.put(diff as u64))
    }

    /// The phase, by its place among all.
    pub const fn phase(self) -> u64 {
        PHASE.of(self)
    }

    /// The rating band's number.
    pub const fn band(self) -> u64 {
        BAND.of(self)
    }

    /// Whether an own unit defends the piece.
    pub const fn is_defended(self) -> bool {
        DEFENDED.of(self) == 1
    }

    /// Whether an enemy unit attacks it, where that is matched.
    pub const fn is_attacked(self) -> bool {
        ATTACKED.of(self) == 1
    }

    /// What is left of it where only this is matched.
    pub fn matched(self, by: Matched) -> Stratum {
        Stratum(self.0 & by.0)
    }
}
