//! Squares a side had three moves before beside those it has now: did it take them, keep them or
//! lose them?

use hobble_statistics::interval::existing;
use hobble_statistics::risk::Scale;
use hobble_statistics::{LEVEL, jackknife};
use hobble_terms::{FOLDS, words};
use serde::{Deserialize, Serialize};

use super::compare::LEAST;
use super::estimate::Clustered;

words! {
    /// Safe squares beside the opponent's, in three classes.
    Squares {
        /// Four fewer or worse.
        Fewer = "fewer",
        /// Three apart at most.
        Equal = "about equal",
        /// Four more or better.
        More = "more",
    }
}

impl Squares {
    /// The class of a scope balance.
    pub const fn of(scope: i32) -> Squares {
        match scope {
            ..=-4 => Squares::Fewer,
            -3..=3 => Squares::Equal,
            4.. => Squares::More,
        }
    }
}

/// Positions and half points of one place.
type Counts = [u64; 2];

/// Counts of one fold, by squares before, then now.
type OfFold = [[Counts; Squares::COUNT]; Squares::COUNT];

/// Counts by sort of fold and fold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Changes(Vec<OfFold>);

impl Default for Changes {
    fn default() -> Changes {
        Changes(vec![OfFold::default(); 2 * FOLDS])
    }
}

/// Sides with these squares three moves before and now.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Change {
    /// Three moves before.
    pub before: Squares,
    /// Now.
    pub now: Squares,
    /// Positions.
    pub positions: u64,
    /// What their sides scored, in half points.
    pub half_points: u64,
    /// Mean score.
    pub score: Clustered,
}

impl Changes {
    /// Adds a position.
    pub fn count(&mut self, before: i32, now: i32, folds: [u8; 2], half_points: u8) {
        for (sort, fold) in folds.into_iter().enumerate() {
            let fold = &mut self.0[sort * FOLDS + usize::from(fold) % FOLDS];
            let counts = &mut fold[Squares::of(before) as usize][Squares::of(now) as usize];
            counts[0] += 1;
            counts[1] += u64::from(half_points);
        }
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: &Changes) {
        let sums = self.0.iter_mut().flatten().flatten().flatten();
        for (sum, count) in sums.zip(other.0.iter().flatten().flatten().flatten()) {
            *sum += count;
        }
    }

    /// Every pair of classes that was met.
    pub fn scores(&self) -> Vec<Change> {
        let pairs = Squares::ALL
            .into_iter()
            .flat_map(|before| Squares::ALL.map(|now| (before, now)));
        pairs
            .map(|(before, now)| self.score(before, now))
            .filter(|change| change.positions > 0)
            .collect()
    }

    fn score(&self, before: Squares, now: Squares) -> Change {
        let of = |fold: &OfFold| fold[before as usize][now as usize];
        let folds = |sort: usize| self.0[sort * FOLDS..(sort + 1) * FOLDS].iter().map(of);
        let add = |sum: Counts, counts: Counts| [sum[0] + counts[0], sum[1] + counts[1]];
        let [positions, half_points] = folds(0).fold([0; 2], add);
        let mean = |[positions, half_points]: Counts| half_points as f64 / (2 * positions) as f64;
        let whole = mean([positions, half_points]);
        let interval = |sort: usize| {
            let present = folds(sort).filter(|counts| counts[0] > 0);
            let without: Vec<f64> = present
                .map(|counts| mean([positions - counts[0], half_points - counts[1]]))
                .collect();
            let folds = without.len() as u32;
            let enough = positions >= LEAST.trials && folds >= LEAST.folds;
            enough
                .then(|| jackknife::interval(Scale::Plain, whole, &without, folds, LEVEL))
                .flatten()
        };
        Change {
            before,
            now,
            positions,
            half_points,
            score: Clustered {
                value: existing(whole),
                by_games: interval(0),
                by_players: interval(1),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two positions in fold 3 score a point and a half, one in fold 4 nothing.
    #[test]
    fn means_and_sums() {
        let (mut one, mut other) = (Changes::default(), Changes::default());
        one.count(-4, 5, [3, 9], 2);
        one.count(-9, 4, [3, 9], 1);
        other.count(-5, 8, [4, 9], 0);
        other.count(0, 3, [4, 9], 1);
        one.add(&other);
        let scores = one.scores();
        assert_eq!(scores.len(), 2);
        let taken = &scores[0];
        assert_eq!((taken.before, taken.now), (Squares::Fewer, Squares::More));
        assert_eq!((taken.positions, taken.score.value), (3, Some(0.5)));
        assert_eq!(taken.score.by_games, None);
    }
}
