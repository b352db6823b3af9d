//! Sides by own and opponent's rating, for a model of both.
//!
//! Ratings are taken together in steps of [`STEP`] points. Of each pair of steps the counts are kept by
//! the group of games and by the group of players a side belongs to, 64 of each.

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::counts::FOLDS;
use super::measures::Measure;
use super::side_counts::WholeCounts;
use hobble_conditions::sum::hashed;

/// Points of a step of the ratings.
pub const STEP: u16 = 50;

/// Own and opponent's step, and the cluster: a group of games, or of players from [`FOLDS`] on.
type Key = (u16, u16, u8);

/// The groups that a side belongs to.
#[derive(Debug, Clone, Copy)]
pub struct Clusters {
    /// Of its game: the fold.
    pub game: u8,
    /// Of its player; that of the game where there is no name.
    pub player: u8,
}

/// Counts by pair of steps and cluster.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct ByRatings {
    #[serde(with = "hashed")]
    counts: FxHashMap<Key, WholeCounts>,
}

/// The counts of a pair of steps in a cluster.
#[derive(Debug, Clone, Copy)]
pub struct Counted<'a> {
    /// Own and opponent's rating at the middle of the step, in points.
    pub ratings: [f64; 2],
    /// The cluster, from 0.
    pub cluster: u32,
    /// Those of all kinds together.
    pub counts: &'a WholeCounts,
}

/// Which clusters are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Groups of games.
    Games,
    /// Groups of players.
    Players,
}

impl ByRatings {
    /// Counts a side of these ratings, own and the opponent's.
    pub fn add_side(&mut self, ratings: [u16; 2], clusters: Clusters, counts: &WholeCounts) {
        let [own, other] = ratings.map(|rating| rating / STEP);
        self.add_counts((own, other, clusters.game), counts);
        self.add_counts((own, other, clusters.player + FOLDS as u8), counts);
    }

    /// Adds what was counted elsewhere.
    pub fn add(&mut self, other: ByRatings) {
        for (key, counts) in other.counts {
            self.add_counts(key, &counts);
        }
    }

    fn add_counts(&mut self, key: Key, counts: &WholeCounts) {
        let sums = self.counts.entry(key);
        let sums = sums.or_insert([(0, 0); Measure::COUNT]);
        for (sum, count) in sums.iter_mut().zip(counts) {
            sum.0 += count.0;
            sum.1 += count.1;
        }
    }

    /// All counts by one sort of cluster, in order.
    pub fn by(&self, by: By) -> Vec<Counted<'_>> {
        let mut keys: Vec<&Key> = self.counts.keys().collect();
        keys.sort_unstable();
        let first = match by {
            By::Games => 0,
            By::Players => FOLDS as u8,
        };
        let clusters = first..first + FOLDS as u8;
        let of_these = keys.into_iter().filter(|key| clusters.contains(&key.2));
        let middle = |step: u16| f64::from(step * STEP) + f64::from(STEP) / 2.0;
        of_these
            .map(|key| Counted {
                ratings: [middle(key.0), middle(key.1)],
                cluster: (key.2 - first).into(),
                counts: &self.counts[key],
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_side_is_counted_by_game_and_by_player() {
        let mut one = ByRatings::default();
        let mut counts = [(0, 0); Measure::COUNT];
        counts[3] = (2, 5);
        let clusters = Clusters { game: 7, player: 7 };
        one.add_side([1449, 1500], clusters, &counts);
        let mut sum = ByRatings::default();
        sum.add_side(
            [1400, 1549],
            Clusters {
                game: 8,
                ..clusters
            },
            &counts,
        );
        sum.add(one);
        for (by, clusters) in [(By::Games, vec![7, 8]), (By::Players, vec![7])] {
            let found = sum.by(by);
            assert_eq!(
                found.iter().map(|one| one.cluster).collect::<Vec<_>>(),
                clusters
            );
            assert!(found.iter().all(|one| one.ratings == [1425.0, 1525.0]));
            let trials: u64 = found.iter().map(|one| one.counts[3].1).sum();
            assert_eq!(trials, 10);
        }
    }
}
