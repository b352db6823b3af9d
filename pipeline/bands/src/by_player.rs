//! What the tables say of each player, for intervals by game and by player.
//!
//! Kept are counts of sides, by what splits a side belongs to and by phase. Players stand by the hash of
//! their key. Where there are too many for the memory, those whose hashes begin alike are
//! taken together: a group of players is a cluster as good as a player, if there are many.

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::counts::Place;
use super::measures::Split;
use super::side_counts::{PLACES, SideCounts, Sums, place_of};
use super::side_tables::OfPhases;
use hobble_conditions::sum::hashed;
use hobble_conditions::terms::Phase;
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

/// A side.
#[derive(Debug, Clone, Copy)]
pub struct OfSide<'a> {
    /// Its levels, in the order of [`SPLITS`].
    pub levels: [&'a str; SPLITS.len()],
    /// Hash of its player's key.
    pub player: Option<u64>,
    /// Its counts.
    pub counts: &'a OfPhases,
}

/// A side in a level.
#[derive(Debug, Clone, Copy)]
struct InLevel<'a> {
    player: Option<u64>,
    sums: &'a Sums,
    /// The events and trials that follow from the sums.
    counts: SideCounts,
}

impl InLevel<'_> {
    fn of(player: Option<u64>, sums: &Sums) -> InLevel<'_> {
        InLevel {
            player,
            sums,
            counts: sums.side_counts(),
        }
    }
}

/// What is counted of the sides of a level.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
struct Level {
    games: Vec<Products>,
    sides: Vec<Products>,
    nameless: Vec<Products>,
    #[serde(with = "hashed")]
    players: FxHashMap<u64, Sums>,
}

/// Sides by level, and in it by player.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct ByPlayer {
    levels: BTreeMap<Split, BTreeMap<String, Level>>,
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
    /// Adds what another counted.
    pub fn add(&mut self, other: ByPlayer) {
        self.leave_out(other.left_out);
        self.too_many |= other.too_many;
        for (split, levels) in other.levels {
            let sums = self.levels.entry(split).or_default();
            for (name, level) in levels {
                let fits = sums.entry(name).or_default().add(level, self.left_out);
                self.too_many |= !fits;
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
                self.too_many |= !level.add_player(player >> bits << bits, &counts);
            }
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
        let levels = self.levels.iter().filter(|_| !self.too_many);
        Ordered {
            levels: levels
                .map(|(split, levels)| {
                    let levels = levels.iter();
                    let levels =
                        levels.map(|(name, level)| (name.as_str(), OrderedLevel::of(level)));
                    (*split, levels.collect())
                })
                .collect(),
        }
    }

    /// Adds the sides of a game that are looked at: one or two.
    pub fn add_game<'a>(&mut self, sides: &[OfSide<'a>]) {
        let in_whole = |side: &OfSide<'a>| InLevel::of(side.player, &side.counts.whole);
        let whole: Vec<InLevel<'_>> = sides.iter().map(in_whole).collect();
        for (at, split) in SPLITS.into_iter().enumerate() {
            match sides {
                [one, other] if one.levels[at] != other.levels[at] => {
                    for (side, in_level) in sides.iter().zip(&whole) {
                        self.add_sides(split, side.levels[at], std::slice::from_ref(in_level));
                    }
                }
                [one, ..] => self.add_sides(split, one.levels[at], &whole),
                [] => {}
            }
        }
        for phase in Phase::ALL {
            let in_phase =
                |side: &OfSide<'a>| InLevel::of(side.player, &side.counts.phases[phase as usize]);
            let of_phase: Vec<InLevel<'_>> = sides.iter().map(in_phase).collect();
            self.add_sides(Split::Phase, phase.name(), &of_phase);
        }
    }

    fn add_sides(&mut self, split: Split, level: &str, sides: &[InLevel<'_>]) {
        let fits = self.level(split, level).add_sides(sides);
        self.too_many |= !fits;
    }

    fn level(&mut self, split: Split, name: &str) -> &mut Level {
        let levels = self.levels.entry(split).or_default();
        if !levels.contains_key(name) {
            levels.insert(name.to_owned(), Level::default());
        }
        levels.entry(name.to_owned()).or_default()
    }
}

impl<'a> OrderedLevel<'a> {
    fn of(level: &'a Level) -> OrderedLevel<'a> {
        let mut players: Vec<(&u64, &Sums)> = level.players.iter().collect();
        players.sort_unstable_by_key(|(player, _)| *player);
        OrderedLevel {
            level,
            players: players.into_iter().map(|(_, counts)| counts).collect(),
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

fn add_clusters(sums: &mut Vec<Products>, counts: &SideCounts) {
    sums.resize(PLACES, Products::NONE);
    for (sum, &(events, trials)) in sums.iter_mut().zip(counts) {
        sum.add(events, trials);
    }
}

fn merge(sums: &mut Vec<Products>, counts: &[Products]) {
    sums.resize(PLACES, Products::NONE);
    for (sum, count) in sums.iter_mut().zip(counts) {
        sum.merge(count);
    }
}

/// What is added to players says whether the counts could hold it.
impl Level {
    fn add(&mut self, other: Level, left_out: u32) -> bool {
        merge(&mut self.games, &other.games);
        merge(&mut self.sides, &other.sides);
        merge(&mut self.nameless, &other.nameless);
        let players = other.players.into_iter();
        players.fold(true, |fits, (player, counts)| {
            self.add_player(player >> left_out << left_out, &counts) && fits
        })
    }

    fn add_player(&mut self, player: u64, counts: &Sums) -> bool {
        self.players.entry(player).or_insert(Sums::NONE).add(counts)
    }

    /// Adds the sides of a game that have this level.
    fn add_sides(&mut self, sides: &[InLevel<'_>]) -> bool {
        let mut game = [(0, 0); PLACES];
        let mut fits = true;
        for side in sides {
            for (sum, count) in game.iter_mut().zip(&side.counts) {
                sum.0 += count.0;
                sum.1 += count.1;
            }
            match side.player {
                Some(player) => fits &= self.add_player(player, side.sums),
                None => add_clusters(&mut self.nameless, &side.counts),
            }
        }
        add_clusters(&mut self.games, &game);
        let first = sides.first().and_then(|side| side.player);
        // Where both sides have one key they are one row of a game and a player.
        if first.is_some() && sides.iter().all(|side| side.player == first) {
            add_clusters(&mut self.sides, &game);
        } else {
            for side in sides {
                add_clusters(&mut self.sides, &side.counts);
            }
        }
        fits
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::side_counts::Count;
    use xxhash_rust::xxh3::xxh3_64;

    fn one(player: u64, events: u32) -> ByPlayer {
        let mut by = ByPlayer::default();
        let mut counts = Sums::NONE;
        counts.sides = 2;
        *counts.count(Count::Spells, None) = events;
        assert!(by.level(Split::All, "all").add_player(player, &counts));
        by
    }

    /// However the parts are added up, the same players are taken together.
    #[test]
    fn players_taken_together_do_not_depend_on_the_order() {
        let players: Vec<ByPlayer> = (0..300_000_u64)
            .map(|n| one(xxh3_64(&(n % 280_000).to_le_bytes()), n as u32 % 3))
            .collect();
        let sum = |order: &mut dyn Iterator<Item = &ByPlayer>| {
            let mut sum = ByPlayer::default();
            for level in order.flat_map(|by| by.levels[&Split::All].values()) {
                let left_out = sum.left_out;
                assert!(sum.level(Split::All, "all").add(level.clone(), left_out));
            }
            sum.fit();
            sum
        };
        let (up, down) = (sum(&mut players.iter()), sum(&mut players.iter().rev()));
        assert!(up.in_groups());
        let of = |by: &ByPlayer| by.levels[&Split::All]["all"].players.clone();
        assert_eq!(of(&up), of(&down));
        assert!(of(&up).len() <= MOST && of(&up).len() > MOST / 4);
        let trials: u32 = of(&up).values().map(|counts| counts.sides).sum();
        assert_eq!(trials, 600_000);
    }
}
