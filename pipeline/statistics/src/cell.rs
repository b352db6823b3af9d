//! Counts of trials and outcomes: of one side, and of the two sides of a comparison.

use std::ops::{AddAssign, Mul, SubAssign};

use serde::{Deserialize, Serialize};

use crate::risk::Two;

/// Counts of one cell.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "(u64, u64, u64)", into = "(u64, u64, u64)")]
pub struct Cell {
    /// Observations.
    pub turns: u64,
    /// Those with the counted outcome.
    pub outcomes: u64,
    /// Those alive when their game ended within the horizon.
    pub over: u64,
}

impl From<(u64, u64, u64)> for Cell {
    fn from((turns, outcomes, over): (u64, u64, u64)) -> Cell {
        Cell {
            turns,
            outcomes,
            over,
        }
    }
}

impl From<Cell> for (u64, u64, u64) {
    fn from(cell: Cell) -> (u64, u64, u64) {
        (cell.turns, cell.outcomes, cell.over)
    }
}

impl Cell {
    /// `outcomes / turns`; NaN without turns.
    pub fn rate(self) -> f64 {
        self.outcomes as f64 / self.turns as f64
    }
}

impl AddAssign for Cell {
    #[inline]
    fn add_assign(&mut self, other: Self) {
        self.turns += other.turns;
        self.outcomes += other.outcomes;
        self.over += other.over;
    }
}

impl SubAssign for Cell {
    #[inline]
    fn sub_assign(&mut self, other: Self) {
        self.turns -= other.turns;
        self.outcomes -= other.outcomes;
        self.over -= other.over;
    }
}

/// The counts of a sampled observation that stands for `weight` of them.
///
/// A table of weighted cells gives weighted figures, and their jackknife allows for the
/// sampling, since whole folds are left out. Whether there are enough counts for an interval
/// is a question to a second table, of the cells without their weights.
impl Mul<u64> for Cell {
    type Output = Cell;

    #[inline]
    fn mul(self, weight: u64) -> Cell {
        Cell {
            turns: self.turns * weight,
            outcomes: self.outcomes * weight,
            over: self.over * weight,
        }
    }
}

/// The two sides of a comparison.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Sides {
    /// The exposed group: held pieces.
    pub held: Cell,
    /// The group it is compared with: free pieces.
    pub free: Cell,
}

impl Sides {
    /// The four numbers of the two-by-two table.
    pub fn two(self) -> Two {
        Two {
            events: self.held.outcomes,
            trials: self.held.turns,
            other_events: self.free.outcomes,
            other_trials: self.free.turns,
        }
    }

    /// Whether both sides have turns.
    pub(crate) fn comparable(&self) -> bool {
        self.held.turns > 0 && self.free.turns > 0
    }
}
