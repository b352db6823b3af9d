//! What became of the spells of a claim, counted by fold of games, and shares of it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::answer::Shares;
use super::compare::LEAST;
use hobble_statistics::interval::existing;
use hobble_statistics::risk::Scale;
use hobble_statistics::{Estimate, LEVEL, jackknife};

/// Moves the curve goes to.
pub const MOVES: usize = 20;

/// Spells that had ended so by each move: lost, traded, sold, game over.
pub type Reached = [[u64; 4]; MOVES];

/// Counts of one fold.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct OfFold {
    /// Spells.
    pub spells: u64,
    /// What had become of them by each move.
    pub reached: Reached,
    /// By how they ended.
    pub ends: [u64; 7],
    /// Piece lost or material down, within 3, 5 and 10 moves.
    pub material: [u64; 3],
}

/// Counts by fold; a fold without spells is not there.
pub type Folds = BTreeMap<u8, OfFold>;

impl OfFold {
    /// Adds the counts of another.
    pub fn add(&mut self, other: &OfFold) {
        self.spells += other.spells;
        let reached = self.reached.iter_mut().flatten();
        let sums = reached.chain(&mut self.ends).chain(&mut self.material);
        let others = other.reached.iter().flatten();
        let counts = others.chain(&other.ends).chain(&other.material);
        for (sum, count) in sums.zip(counts) {
            *sum += count;
        }
    }
}

/// Shares of several ends among the spells, each with its interval; `of` gives the spells of
/// a fold that met each end.
pub fn shares<const N: usize>(folds: &Folds, of: impl Fn(&OfFold) -> [u64; N]) -> [Shares; N] {
    let total: u64 = folds.values().map(|fold| fold.spells).sum();
    let counts: Vec<(u64, [u64; N])> = folds.values().map(|fold| (fold.spells, of(fold))).collect();
    let number = counts.len() as u32;
    std::array::from_fn(|end| {
        let count: u64 = counts.iter().map(|fold| fold.1[end]).sum();
        let whole = count as f64 / total as f64;
        let with = counts.iter().filter(|fold| fold.1[end] > 0).count() as u32;
        let enough = total >= LEAST.trials && number >= LEAST.folds && with >= LEAST.outcome_folds;
        let without_one = |fold: &(u64, [u64; N])| {
            Scale::Logit.forward((count - fold.1[end]) as f64 / (total - fold.0) as f64)
        };
        let interval = || {
            let without_one: Vec<f64> = counts.iter().map(without_one).collect();
            jackknife::interval(Scale::Logit, whole, &without_one, number, LEVEL)
        };
        Shares {
            count,
            share: Estimate {
                value: existing(whole),
                jackknife: enough.then(interval).flatten(),
            },
        }
    })
}
