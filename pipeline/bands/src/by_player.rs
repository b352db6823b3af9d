//! What the table `sides` says of each player, for intervals by game and by player.
//!
//! Kept are the measures that a row of `sides` gives, by what splits a side belongs to. Players stand by
//! the hash of their key. Where there are too many for the memory, those whose hashes begin alike are
//! taken together: a group of players is a cluster as good as a player, if there are many.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::counts::Place;
use super::measures::Split;
use super::side_counts::{PLACES, SideCounts, place_of};
use hobble_statistics::ratio_clusters::{self, Products, TwoWay, two_way};

/// Most players kept, in all levels together: some 90 MB.
const MOST: usize = 1 << 18;

/// Splits by what a side is.
pub const SPLITS: [Split; 5] = [
    Split::All,
    Split::Band,
    Split::TimeClass,
    Split::Color,
    Split::Eco,
];

/// A side.
#[derive(Debug, Clone, Copy)]
pub struct OfSide<'a> {
    /// Its levels, in the order of [`SPLITS`].
    pub levels: [&'a str; SPLITS.len()],
    /// Hash of its player's key.
    pub player: Option<u64>,
    /// Its counts.
    pub counts: SideCounts,
}

/// What is counted of the sides of a level.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
struct Level {
    games: Vec<Products>,
    sides: Vec<Products>,
    nameless: Vec<Products>,
    /// Events and trials of each measure, by player.
    players: BTreeMap<u64, Vec<(u64, u64)>>,
}

/// Sides by level, and in it by player.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct ByPlayer {
    levels: BTreeMap<Split, BTreeMap<String, Level>>,
    /// Low bits of the hash that are left out.
    left_out: u32,
}

impl ByPlayer {
    /// Adds what another counted.
    pub fn add(&mut self, other: ByPlayer) {
        self.leave_out(other.left_out);
        for (split, levels) in other.levels {
            let sums = self.levels.entry(split).or_default();
            for (name, level) in levels {
                sums.entry(name).or_default().add(level, self.left_out);
            }
        }
        self.fit();
    }

    /// Takes players together until there are few enough. How many low bits are left out depends on
    /// who the players are, not on the order in which they come.
    pub fn fit(&mut self) {
        let count = |by: &ByPlayer| {
            let levels = by.levels.values().flat_map(BTreeMap::values);
            levels.map(|level| level.players.len()).sum::<usize>()
        };
        while count(self) > MOST {
            self.leave_out(self.left_out + 1);
        }
    }

    fn leave_out(&mut self, bits: u32) {
        if bits <= self.left_out {
            return;
        }
        self.left_out = bits;
        for level in self.levels.values_mut().flat_map(BTreeMap::values_mut) {
            for (player, counts) in std::mem::take(&mut level.players) {
                add_player(&mut level.players, player >> bits << bits, &counts);
            }
        }
    }

    /// Whether players were taken together.
    pub fn in_groups(&self) -> bool {
        self.left_out > 0
    }

    /// The standard error of a cell two ways, and who its players are; `None` for a cell that `sides`
    /// does not give.
    pub fn of(&self, place: &Place) -> Option<TwoWay> {
        let (split, level) = match place.split {
            // Its levels are the kinds of all sides.
            Split::Kind => (Split::All, "all"),
            split => (split, place.level.1.as_str()),
        };
        let level = self.levels.get(&split)?.get(level)?;
        let at = place_of(place.measure, place.kind)?;
        let rows = ratio_clusters::Rows {
            games: level.games.get(at)?,
            sides: level.sides.get(at)?,
            nameless: level.nameless.get(at)?,
        };
        let players = level.players.values().filter_map(|counts| counts.get(at));
        two_way(place.measure.scale(), rows, players.copied())
    }

    /// Adds the sides of a game that are looked at: one or two.
    pub fn add_game(&mut self, sides: &[OfSide<'_>]) {
        for (at, split) in SPLITS.into_iter().enumerate() {
            for side in sides {
                let level = self.level(split, side.levels[at]);
                level.add_side(side.player, &side.counts);
            }
            match sides {
                [one, other] if one.levels[at] == other.levels[at] => {
                    let mut both = one.counts;
                    for (sum, count) in both.iter_mut().zip(&other.counts) {
                        sum.0 += count.0;
                        sum.1 += count.1;
                    }
                    let level = self.level(split, one.levels[at]);
                    add_clusters(&mut level.games, &both);
                    // Where both sides have one key they are one row of a game and a player.
                    let together = [both];
                    let apart = [one.counts, other.counts];
                    let is_one = one.player.is_some() && one.player == other.player;
                    let clusters = if is_one { &together[..] } else { &apart[..] };
                    for counts in clusters {
                        add_clusters(&mut level.sides, counts);
                    }
                }
                _ => {
                    for side in sides {
                        let level = self.level(split, side.levels[at]);
                        add_clusters(&mut level.games, &side.counts);
                        add_clusters(&mut level.sides, &side.counts);
                    }
                }
            }
        }
    }

    fn level(&mut self, split: Split, name: &str) -> &mut Level {
        let levels = self.levels.entry(split).or_default();
        if !levels.contains_key(name) {
            levels.insert(name.to_owned(), Level::default());
        }
        levels.entry(name.to_owned()).or_default()
    }
}

fn add_player(players: &mut BTreeMap<u64, Vec<(u64, u64)>>, player: u64, counts: &[(u64, u64)]) {
    let sums = players.entry(player).or_default();
    sums.resize(PLACES, (0, 0));
    for (sum, count) in sums.iter_mut().zip(counts) {
        sum.0 += count.0;
        sum.1 += count.1;
    }
}

fn add_clusters(sums: &mut Vec<Products>, counts: &SideCounts) {
    sums.resize(PLACES, Products::default());
    for (sum, &(events, trials)) in sums.iter_mut().zip(counts) {
        sum.add(events, trials);
    }
}

fn merge(sums: &mut Vec<Products>, counts: &[Products]) {
    sums.resize(PLACES, Products::default());
    for (sum, count) in sums.iter_mut().zip(counts) {
        sum.merge(count);
    }
}

impl Level {
    fn add(&mut self, other: Level, left_out: u32) {
        merge(&mut self.games, &other.games);
        merge(&mut self.sides, &other.sides);
        merge(&mut self.nameless, &other.nameless);
        for (player, counts) in other.players {
            add_player(&mut self.players, player >> left_out << left_out, &counts);
        }
    }

    fn add_side(&mut self, player: Option<u64>, counts: &SideCounts) {
        match player {
            Some(player) => add_player(&mut self.players, player, counts),
            None => add_clusters(&mut self.nameless, counts),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use xxhash_rust::xxh3::xxh3_64;

    fn one(player: u64, events: u64) -> ByPlayer {
        let mut by = ByPlayer::default();
        let mut counts = [(0, 0); PLACES];
        counts[0] = (events, 2);
        by.level(Split::All, "all").add_side(Some(player), &counts);
        by
    }

    /// However the parts are added up, the same players are taken together.
    #[test]
    fn players_taken_together_do_not_depend_on_the_order() {
        let players: Vec<ByPlayer> = (0..300_000_u64)
            .map(|n| one(xxh3_64(&(n % 280_000).to_le_bytes()), n % 3))
            .collect();
        let sum = |order: &mut dyn Iterator<Item = &ByPlayer>| {
            let mut sum = ByPlayer::default();
            for level in order.flat_map(|by| by.levels[&Split::All].values()) {
                let left_out = sum.left_out;
                sum.level(Split::All, "all").add(level.clone(), left_out);
            }
            sum.fit();
            sum
        };
        let (up, down) = (sum(&mut players.iter()), sum(&mut players.iter().rev()));
        assert!(up.in_groups());
        let of = |by: &ByPlayer| by.levels[&Split::All]["all"].players.clone();
        assert_eq!(of(&up), of(&down));
        assert!(of(&up).len() <= MOST && of(&up).len() > MOST / 4);
        let trials: u64 = of(&up).values().map(|counts| counts[0].1).sum();
        assert_eq!(trials, 600_000);
    }
}
