//! A count of pieces: rows, and the turns they stand for.

use serde::{Deserialize, Serialize};

/// Rows of the table, and the turns they stand for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "(u64, u64)", into = "(u64, u64)")]
pub struct Count {
    /// Rows.
    pub rows: u64,
    /// Turns: the sum of their weights.
    pub turns: u64,
}

impl From<(u64, u64)> for Count {
    fn from((rows, turns): (u64, u64)) -> Count {
        Count { rows, turns }
    }
}

impl From<Count> for (u64, u64) {
    fn from(count: Count) -> (u64, u64) {
        (count.rows, count.turns)
    }
}

impl std::ops::AddAssign for Count {
    fn add_assign(&mut self, other: Self) {
        self.rows += other.rows;
        self.turns += other.turns;
    }
}

impl std::ops::SubAssign for Count {
    fn sub_assign(&mut self, other: Self) {
        self.rows -= other.rows;
        self.turns -= other.turns;
    }
}
