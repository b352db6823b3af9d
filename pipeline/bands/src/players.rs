//! Counts by player.

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize, Serializer};

use super::side_counts::Sums;

/// Counts of players, each by the hash of the player's key.
///
/// The counts stand in a list and are found by their place in it. A map of the counts themselves would
/// move all of them each time it grows.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(from = "Vec<(u64, Sums)>")]
pub struct Players {
    places: FxHashMap<u64, u32>,
    players: Vec<(u64, Sums)>,
}

impl Players {
    /// Number of players.
    pub fn len(&self) -> usize {
        self.players.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.players.is_empty()
    }

    /// Adds counts of a player. Returns whether the player's counts could hold them.
    #[must_use]
    pub fn add(&mut self, player: u64, counts: &Sums) -> bool {
        // There are far fewer players than 2^32: each takes hundreds of bytes.
        let next = self.players.len() as u32;
        let place = *self.places.entry(player).or_insert(next);
        if place == next {
            self.players.push((player, *counts));
            return true;
        }
        self.players[place as usize].1.add(counts)
    }

    /// Hashes of the players' keys, in the order in which they were met.
    pub fn hashes(&self) -> impl Iterator<Item = u64> {
        self.players.iter().map(|&(player, _)| player)
    }

    /// The players with their counts, in the order in which they were met.
    pub fn each(&self) -> impl Iterator<Item = &(u64, Sums)> {
        self.players.iter()
    }

    /// The players in the order of the hashes, which does not depend on who was met first.
    pub fn in_order(&self) -> Vec<&(u64, Sums)> {
        let mut players: Vec<&(u64, Sums)> = self.players.iter().collect();
        players.sort_unstable_by_key(|(player, _)| *player);
        players
    }
}

impl From<Vec<(u64, Sums)>> for Players {
    fn from(players: Vec<(u64, Sums)>) -> Players {
        let hashes = players.iter().map(|&(player, _)| player);
        let places = hashes.zip(0..).collect();
        Players { places, players }
    }
}

impl Serialize for Players {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.in_order())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sides(number: u32) -> Sums {
        let mut sums = Sums::NONE;
        sums.sides = number;
        sums
    }

    #[test]
    fn counts_of_a_player_are_added_up() {
        let mut players = Players::default();
        for (player, number) in [(9, 1), (4, 2), (9, 4), (6, 8)] {
            assert!(players.add(player, &sides(number)));
        }
        assert_eq!(players.len(), 3);
        assert_eq!(players.hashes().collect::<Vec<_>>(), [9, 4, 6]);
        assert_eq!(
            players.in_order(),
            [&(4, sides(2)), &(6, sides(8)), &(9, sides(5))]
        );
        assert!(!players.add(9, &sides(u32::MAX)));
    }

    #[test]
    fn players_are_written_in_order_and_found_again() {
        let mut players = Players::default();
        assert!(players.add(9, &sides(1)) && players.add(4, &sides(2)));
        let written = serde_json::to_vec(&players).expect("counts are numbers");
        let mut again: Players = serde_json::from_slice(&written).expect("just written");
        assert_eq!(again.hashes().collect::<Vec<_>>(), [4, 9]);
        assert!(again.add(9, &sides(2)));
        assert_eq!(again.in_order(), [&(4, sides(2)), &(9, sides(3))]);
    }
}
