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

    /// Adds counts of some players. Returns whether each player's counts could hold them.
    ///
    /// All are looked up before any is added: the memory that is waited for is then known beforehand.
    #[must_use]
    pub fn add<'a>(&mut self, some: impl Iterator<Item = (u64, &'a Sums)>) -> bool {
        let found: Vec<_> = some
            .map(|(player, counts)| (self.place(player), counts))
            .collect();
        found.into_iter().fold(true, |fits, (place, counts)| {
            self.players[place].1.add(counts) && fits
        })
    }

    /// Where a player stands, a new one last.
    fn place(&mut self, player: u64) -> usize {
        // There are far fewer players than 2^32: each takes hundreds of bytes.
        let next = self.players.len() as u32;
        let place = *self.places.entry(player).or_insert(next);
        if place == next {
            self.players.push((player, Sums::NONE));
        }
        place as usize
    }

    /// Hashes of the players' keys, in the order in which they were met.
    pub fn hashes(&self) -> impl Iterator<Item = u64> {
        self.players.iter().map(|&(player, _)| player)
    }

    /// The players with their counts, in the order in which they were met.
    pub fn each(&self) -> impl Iterator<Item = (u64, &Sums)> {
        self.players
            .iter()
            .map(|(player, counts)| (*player, counts))
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
        let counts = [(9, sides(1)), (4, sides(2)), (9, sides(4)), (6, sides(8))];
        assert!(players.add(counts.iter().map(|(player, sums)| (*player, sums))));
        assert_eq!(players.len(), 3);
        assert_eq!(players.hashes().collect::<Vec<_>>(), [9, 4, 6]);
        assert_eq!(
            players.in_order(),
            [&(4, sides(2)), &(6, sides(8)), &(9, sides(5))]
        );
        let too_many = sides(u32::MAX);
        assert!(!players.add([(9, &too_many), (4, &sides(1))].into_iter()));
    }

    #[test]
    fn players_are_written_in_order_and_found_again() {
        let mut players = Players::default();
        assert!(players.add([(9, &sides(1)), (4, &sides(2))].into_iter()));
        let written = serde_json::to_vec(&players).expect("counts are numbers");
        let mut again: Players = serde_json::from_slice(&written).expect("just written");
        assert_eq!(again.hashes().collect::<Vec<_>>(), [4, 9]);
        assert!(again.add([(9, &sides(2))].into_iter()));
        assert_eq!(again.in_order(), [&(4, sides(2)), &(9, sides(3))]);
    }
}
