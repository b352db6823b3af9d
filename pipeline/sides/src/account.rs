//! How many positions were met, counted and left out, by reason.

use serde::{Deserialize, Serialize};

/// Positions of the sample within the asked plies: sampled = counted + those left out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Account {
    /// Positions of the sample.
    pub sampled: u64,
    /// Counted.
    pub counted: u64,
    /// Games with a position counted.
    pub games: u64,
    /// Left out by the question's filters.
    pub filtered: u64,
    /// Left out because a side is two pawns ahead or more.
    pub not_level: u64,
    /// Left out because the game has no result.
    pub no_result: u64,
    /// Left out because the ply before captured, promoted or checked.
    pub not_quiet: u64,
}

impl Account {
    /// Adds another.
    pub fn add(&mut self, other: &Account) {
        self.sampled += other.sampled;
        self.counted += other.counted;
        self.games += other.games;
        self.filtered += other.filtered;
        self.not_level += other.not_level;
        self.no_result += other.no_result;
        self.not_quiet += other.not_quiet;
    }

    /// Whether it adds up.
    pub fn reconciles(&self) -> bool {
        let left_out = self.filtered + self.not_level + self.no_result + self.not_quiet;
        self.sampled == self.counted + left_out
    }
}
