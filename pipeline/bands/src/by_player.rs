//! What the tables say of each player, for intervals by game and by player.
//!
//! Kept are counts of sides, by what splits a side belongs to and by phase. Players stand by the hash of
//! their key. Where there are too many for the memory, those whose hashes begin alike are
//! taken together: a group of players is a cluster as good as a player, if there are many.

use std::collections::BTreeMap;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::counts::Place;
use super::measures::Split;
use super::players::Players;
use super::side_counts::{PLACES, Sums, place_of};
use super::side_products::{Cluster, SideProducts};
use hobble_statistics::ratio_clusters::{self, Products, TwoWay, two_way};

/// Most players kept, in all levels together: some 100 MB.
const MOST: usize = 1 << 18;

/// Splits by what a side is. Beside them each side has every phase.
pub const SPLITS: [Split; 5] = [
    Split::All,
    Split::Band,
    Split::TimeClass,
    Split::Color,
    Split::Eco,
];

/// What is counted of the sides of a level.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Level {
    split: Split,
    name: String,
    games: Vec<Products>,
    sides: Vec<Products>,
    nameless: Vec<Products>,
    players: Players,
}

/// Sides by level, and in it by player.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct ByPlayer {
    levels: Vec<Level>,
    /// Low bits of the hash that are left out.
    left_out: u32,
    /// Whether a player has more than the counts can hold.
    too_many: bool,
}

/// The sides of a level, its players in an order that is always the same.
#[derive(Debug)]
struct OrderedLevel<'a> {
    level: &'a Level,
    players: Vec<&'a Sums>,
}

/// What is known of the cells' players.
#[derive(Debug)]
pub struct Ordered<'a> {
    levels: BTreeMap<Split, BTreeMap<&'a str, OrderedLevel<'a>>>,
}

impl ByPlayer {
    /// Number of a level, a new one numbered on. Numbers stand until counts are put in order or added.
    pub fn number(&mut self, split: Split, name: &str) -> usize {
        let known = |level: &Level| level.split == split && level.name == name;
        self.levels.iter().position(known).unwrap_or_else(|| {
            self.levels.push(Level::new(split, name));
            self.levels.len() - 1
        })
    }

    /// Split and name of a level.
    pub fn name(&self, number: usize) -> (Split, &str) {
        let level = &self.levels[number];
        (level.split, &level.name)
    }

    /// Adds what another counted.
    pub fn add(&mut self, other: ByPlayer) {
        self.leave_out(other.left_out);
        self.too_many |= other.too_many;
        let mut others: Vec<Option<Level>> = Vec::new();
        for level in other.levels {
            let number = self.number(level.split, &level.name);
            others.resize_with(self.levels.len(), || None);
            others[number] = Some(level);
        }
        let left_out = self.left_out;
        let same_groups = other.left_out == left_out;
        let levels = self.levels.par_iter_mut().zip(others);
        let fits = levels.map(|(level, other)| {
            other.is_none_or(|mut other| {
                if same_groups && level.players.is_empty() {
                    std::mem::swap(&mut level.players, &mut other.players);
                }
                level.add(other, left_out)
            })
        });
        self.too_many |= fits.filter(|fits| !fits).count() > 0;
        self.fit();
        self.put_in_order();
    }

    /// Adds sides to the levels they belong to, several levels at a time; `of` gives a side's player and
    /// its counts in the level of a number, if they count there.
    pub fn add_sides<S: Sync>(
        &mut self,
        sides: &[S],
        of: impl Fn(usize, &S) -> Option<(u64, &Sums)> + Sync,
    ) {
        let left_out = self.left_out;
        let levels = self.levels.par_iter_mut().enumerate();
        let fits = levels.map(|(number, level)| {
            let players = sides.iter().filter_map(|side| of(number, side));
            level.add_players(players, left_out)
        });
        self.too_many |= fits.filter(|fits| !fits).count() > 0;
    }

    /// Adds products of sides to their levels.
    pub fn add_products(&mut self, products: &SideProducts) {
        for (level, cluster, products) in products.each() {
            let level = &mut self.levels[level];
            let sums = match cluster {
                Cluster::Game => &mut level.games,
                Cluster::Side => &mut level.sides,
                Cluster::Nameless => &mut level.nameless,
            };
            merge(sums, products.each());
        }
    }

    /// Puts levels in an order that does not depend on which was met first, and drops those without sides.
    pub fn put_in_order(&mut self) {
        self.levels.retain(|level| !level.sides.is_empty());
        let of = |level: &Level| (level.split, level.name.clone());
        self.levels.sort_by_cached_key(of);
    }

    /// Takes players together until there are few enough. How many low bits are left out depends on
    /// who the players are, not on the order in which they come.
    pub fn fit(&mut self) {
        let levels = self.levels.iter().map(|level| &level.players);
        if levels.clone().map(Players::len).sum::<usize>() <= MOST {
            return;
        }
        // Hashes are far apart: many bits go at once, so that players are moved once alone.
        let mut hashes: Vec<Vec<u64>> = levels.map(|of| of.hashes().collect()).collect();
        hashes.iter_mut().for_each(|of| of.sort_unstable());
        let left = |bits: u32| -> usize {
            let groups = |of: &Vec<u64>| of.chunk_by(|a, b| a >> bits == b >> bits).count();
            hashes.iter().map(groups).sum()
        };
        let bits = (self.left_out + 1..u64::BITS).find(|&bits| left(bits) <= MOST);
        self.leave_out(bits.unwrap_or(u64::BITS - 1));
    }

    fn leave_out(&mut self, bits: u32) {
        if bits <= self.left_out {
            return;
        }
        self.left_out = bits;
        for level in &mut self.levels {
            let apart = std::mem::take(&mut level.players);
            self.too_many |= !level.add_players(apart.each(), bits);
        }
    }

    /// Whether players were taken together.
    pub fn in_groups(&self) -> bool {
        self.left_out > 0
    }

    /// Whether a player has more than the counts can hold, so that nothing is known of players.
    pub fn has_too_many(&self) -> bool {
        self.too_many
    }

    /// The players of each level in an order that does not depend on who was counted first.
    pub fn ordered(&self) -> Ordered<'_> {
        let mut levels: BTreeMap<Split, BTreeMap<&str, OrderedLevel<'_>>> = BTreeMap::new();
        for level in self.levels.iter().filter(|_| !self.too_many) {
            let of_split = levels.entry(level.split).or_default();
            of_split.insert(&level.name, OrderedLevel::of(level));
        }
        Ordered { levels }
    }
}

impl<'a> OrderedLevel<'a> {
    fn of(level: &'a Level) -> OrderedLevel<'a> {
        let players = level.players.in_order().into_iter();
        OrderedLevel {
            level,
            players: players.map(|(_, counts)| counts).collect(),
        }
    }
}

impl Ordered<'_> {
    /// The standard error of a cell two ways, and who its players are; `None` for a cell that is not
    /// known by player.
    pub fn of(&self, place: &Place) -> Option<TwoWay> {
        let (split, level) = match place.split {
            // Its levels are the kinds of all sides.
            Split::Kind => (Split::All, "all"),
            split => (split, place.level.1.as_str()),
        };
        let OrderedLevel { level, players } = self.levels.get(&split)?.get(level)?;
        let at = place_of(place.measure, place.kind);
        let rows = ratio_clusters::Rows {
            games: level.games.get(at)?,
            sides: level.sides.get(at)?,
            nameless: level.nameless.get(at).unwrap_or(&Products::NONE),
        };
        let players = players
            .iter()
            .map(|sums| sums.of(place.measure, place.kind));
        two_way(place.measure.scale(), rows, players)
    }
}

fn merge(sums: &mut Vec<Products>, counts: impl IntoIterator<Item = Products>) {
    sums.resize(PLACES, Products::NONE);
    for (sum, count) in sums.iter_mut().zip(counts) {
        sum.merge(&count);
    }
}

/// What is added to players says whether the counts could hold it.
impl Level {
    fn new(split: Split, name: &str) -> Level {
        Level {
            split,
            name: name.to_owned(),
            games: Vec::new(),
            sides: Vec::new(),
            nameless: Vec::new(),
            players: Players::default(),
        }
    }

    fn add(&mut self, other: Level, left_out: u32) -> bool {
        merge(&mut self.games, other.games);
        merge(&mut self.sides, other.sides);
        merge(&mut self.nameless, other.nameless);
        self.add_players(other.players.each(), left_out)
    }

    fn add_players<'a>(
        &mut self,
        players: impl Iterator<Item = (u64, &'a Sums)>,
        left_out: u32,
    ) -> bool {
        let group = |player: u64| player >> left_out << left_out;
        self.players
            .add(players.map(|(player, counts)| (group(player), counts)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::side_counts::{Count, SideCounts};
    use crate::side_products::OfSide;
    use xxhash_rust::xxh3::xxh3_64;

    fn counts(events: u32) -> Sums {
        let mut counts = Sums::NONE;
        counts.sides = 2;
        *counts.count(Count::Spells, None) = events;
        counts
    }

    /// However the parts are added up, the same players are taken together, and those that come later with
    /// them.
    #[test]
    fn players_taken_together_do_not_depend_on_the_order() {
        let players: Vec<(u64, Sums)> = (0..300_000_u64)
            .map(|n| (xxh3_64(&(n % 280_000).to_le_bytes()), counts(n as u32 % 3)))
            .collect();
        // Fitted after so many.
        let sum = |order: &mut dyn Iterator<Item = &(u64, Sums)>, some: usize| {
            let mut sum = ByPlayer::default();
            let all = sum.number(Split::All, "all");
            let side = OfSide {
                levels: &[all],
                player: None,
                counts: &SideCounts::NONE,
            };
            let mut products = SideProducts::default();
            products.add_game(&[side]);
            sum.add_products(&products);
            let sides: Vec<&(u64, Sums)> = order.collect();
            for sides in sides.chunks(some) {
                sum.add_sides(sides, |number, (player, counts)| {
                    (number == all).then_some((*player, counts))
                });
                sum.fit();
            }
            sum
        };
        let mut parts = ByPlayer::default();
        for part in players.chunks(50_000) {
            parts.add(sum(&mut part.iter(), 50_000));
        }
        let (up, down) = (
            sum(&mut players.iter(), 1_000),
            sum(&mut players.iter().rev(), 7_000),
        );
        assert!(up.in_groups());
        let of = |by: &ByPlayer| by.levels[0].players.clone();
        assert_eq!(of(&up).in_order(), of(&down).in_order());
        assert_eq!(of(&up).in_order(), of(&parts).in_order());
        assert!(of(&up).len() <= MOST && of(&up).len() > MOST / 4);
        let trials: u32 = of(&up).each().map(|(_, counts)| counts.sides).sum();
        assert_eq!(trials, 600_000);
    }

    #[test]
    fn levels_stand_in_an_order_of_their_own() {
        let mut by = ByPlayer::default();
        let mut products = SideProducts::default();
        for (split, name) in [(Split::Eco, "B"), (Split::All, "all"), (Split::Eco, "A")] {
            let side = OfSide {
                levels: &[by.number(split, name)],
                player: None,
                counts: &SideCounts::NONE,
            };
            products.add_game(&[side]);
        }
        by.number(Split::Band, "of no side");
        by.add_products(&products);
        assert_eq!(by.number(Split::Eco, "B"), 0);
        by.put_in_order();
        let names: Vec<&str> = by.levels.iter().map(|level| level.name.as_str()).collect();
        assert_eq!(names, ["all", "A", "B"]);
    }
}
