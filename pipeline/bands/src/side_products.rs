//! Products of the sides and games of a part, added up once for all levels they belong to.
//!
//! A side belongs to a level of each split, and its products are the same in all of them. So they are
//! added up by the levels they go to, and only these sums go there.

use rustc_hash::FxHashMap;

use super::by_player::SPLITS;
use super::side_counts::{PLACES, SideCounts};
use hobble_statistics::ratio_clusters::ProductsOf;

/// What clusters are in a level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cluster {
    /// Games.
    Game,
    /// Sides.
    Side,
    /// Sides of players without a name.
    Nameless,
}

impl Cluster {
    const ALL: [Cluster; 3] = [Cluster::Game, Cluster::Side, Cluster::Nameless];
}

/// Levels a cluster counts in, and as what: a side can be all three in each of its levels.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct Levels {
    at: [u32; SPLITS.len() * Cluster::ALL.len()],
    number: usize,
}

impl Levels {
    const NONE: Levels = Levels {
        at: [0; SPLITS.len() * Cluster::ALL.len()],
        number: 0,
    };

    fn push(&mut self, level: usize, cluster: Cluster) {
        self.at[self.number] = (level * Cluster::ALL.len() + cluster as usize) as u32;
        self.number += 1;
    }

    fn each(&self) -> impl Iterator<Item = (usize, Cluster)> {
        let sorts = Cluster::ALL.len();
        let at = self.at[..self.number].iter().map(|&at| at as usize);
        at.map(move |at| (at / sorts, Cluster::ALL[at % sorts]))
    }
}

/// A side of a game, in all phases or in one.
#[derive(Debug, Clone, Copy)]
pub struct OfSide<'a> {
    /// Numbers of its levels, one a split, in the same order on both sides.
    pub levels: &'a [usize],
    /// Hash of its player's key.
    pub player: Option<u64>,
    /// Its counts.
    pub counts: &'a SideCounts,
}

/// Products by the levels they go to.
#[derive(Debug, Default)]
pub struct SideProducts {
    products: FxHashMap<Levels, ProductsOf<PLACES>>,
}

impl SideProducts {
    /// Adds the sides of a game that are looked at: one or two.
    pub fn add_game(&mut self, sides: &[OfSide<'_>]) {
        let [one, other] = sides else {
            for side in sides {
                self.add_side(side, |_| [Some(Cluster::Game), Some(Cluster::Side)]);
            }
            return;
        };
        let shares = |split: usize| one.levels[split] == other.levels[split];
        // Where both sides have one key they are one row of a game and a player.
        let one_player = one.player.is_some() && one.player == other.player;
        for side in [one, other] {
            self.add_side(side, |split| match shares(split) {
                true if one_player => [None, None],
                true => [Some(Cluster::Side), None],
                false => [Some(Cluster::Side), Some(Cluster::Game)],
            });
        }
        let mut of_game = Levels::NONE;
        for (split, &level) in one.levels.iter().enumerate() {
            if shares(split) {
                of_game.push(level, Cluster::Game);
                if one_player {
                    of_game.push(level, Cluster::Side);
                }
            }
        }
        self.add(of_game, &one.counts.plus(other.counts));
    }

    fn add_side(&mut self, side: &OfSide<'_>, of: impl Fn(usize) -> [Option<Cluster>; 2]) {
        let mut levels = Levels::NONE;
        for (split, &level) in side.levels.iter().enumerate() {
            let nameless = side.player.is_none().then_some(Cluster::Nameless);
            for cluster in of(split).into_iter().chain([nameless]).flatten() {
                levels.push(level, cluster);
            }
        }
        self.add(levels, side.counts);
    }

    fn add(&mut self, levels: Levels, counts: &SideCounts) {
        let sums = self.products.entry(levels);
        let sums = sums.or_insert(ProductsOf::NONE);
        sums.add(&counts.events, &counts.trials);
    }

    /// All products with the level they go to, and as what.
    pub fn each(&self) -> impl Iterator<Item = (usize, Cluster, &ProductsOf<PLACES>)> {
        self.products.iter().flat_map(|(levels, products)| {
            let levels = levels.each();
            levels.map(move |(level, cluster)| (level, cluster, products))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hobble_statistics::ratio_clusters::Products;

    /// Of level and cluster: number of clusters, and the events of the first place.
    fn counted(games: &[&[OfSide<'_>]], level: usize, cluster: Cluster) -> (u64, u64) {
        let mut products = SideProducts::default();
        for sides in games {
            products.add_game(sides);
        }
        let mut sum = Products::NONE;
        for (at, of, sums) in products.each() {
            if (at, of) == (level, cluster) {
                sums.each().take(1).for_each(|one| sum.merge(&one));
            }
        }
        (sum.clusters, sum.events)
    }

    fn counts(events: u32) -> SideCounts {
        let mut counts = SideCounts::NONE;
        (counts.events[0], counts.trials[0]) = (events, 10);
        counts
    }

    /// Level 0 is of all sides; White and Black have levels 1 and 2.
    #[test]
    fn sides_count_in_their_levels_and_games_where_both_do() {
        let (white, black, alone) = (counts(3), counts(4), counts(5));
        let side = |levels, player, counts| OfSide {
            levels,
            player,
            counts,
        };
        let both = [side(&[0, 1], Some(7), &white), side(&[0, 2], None, &black)];
        let one = [side(&[0, 2], Some(8), &alone)];
        let of = |level, cluster| counted(&[&both, &one], level, cluster);
        assert_eq!(of(0, Cluster::Game), (2, 12));
        assert_eq!(of(0, Cluster::Side), (3, 12));
        assert_eq!(of(0, Cluster::Nameless), (1, 4));
        assert_eq!(of(1, Cluster::Game), (1, 3));
        assert_eq!(of(1, Cluster::Side), (1, 3));
        assert_eq!(of(2, Cluster::Game), (2, 9));
        assert_eq!(of(2, Cluster::Nameless), (1, 4));
    }

    #[test]
    fn both_sides_of_one_player_are_one() {
        let (white, black) = (counts(3), counts(4));
        let side = |levels, counts| OfSide {
            levels,
            player: Some(7),
            counts,
        };
        let both: [OfSide<'_>; 2] = [side(&[0, 1], &white), side(&[0, 2], &black)];
        let of = |level, cluster| counted(&[&both], level, cluster);
        assert_eq!(of(0, Cluster::Side), (1, 7));
        assert_eq!(of(0, Cluster::Game), (1, 7));
        assert_eq!(of(1, Cluster::Side), (1, 3));
        assert_eq!(of(2, Cluster::Game), (1, 4));
    }
}
