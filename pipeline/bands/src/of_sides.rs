//! What a report takes from the table `sides`: sums by player, by ratings, and held pieces by fold.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::by_player::ByPlayer;
use super::by_ratings::ByRatings;
use super::counts::{Cells, FOLDS, Place, add};
use super::measures::{Measure, Split};
use super::side_tables::SideRow;
use hobble_conditions::terms::Kind;

/// What is counted of sides.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct OfSides {
    /// By player.
    pub by_player: ByPlayer,
    /// By own and opponent's rating.
    pub by_ratings: ByRatings,
    /// Held and developed pieces by level and fold.
    held: BTreeMap<Split, BTreeMap<String, Vec<Held>>>,
}

/// Piece-turns of developed pieces by kind, and turns of their sides.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct Held {
    held: [u64; Kind::COUNT],
    developed: [u64; Kind::COUNT],
    turns: u64,
}

impl Held {
    /// Those of a row of the table.
    pub fn of_row(row: &SideRow) -> Held {
        Held {
            held: row.of_kind.map(|turns| turns.held.into()),
            developed: row.of_kind.map(|turns| turns.all.into()),
            turns: row.turns.into(),
        }
    }

    /// Adds those of other rows.
    pub fn add(&mut self, other: &Held) {
        self.turns += other.turns;
        for kind in 0..Kind::COUNT {
            self.held[kind] += other.held[kind];
            self.developed[kind] += other.developed[kind];
        }
    }

    /// Held and developed piece-turns, of a kind or of all.
    fn of(&self, kind: Option<Kind>) -> (u64, u64) {
        match kind {
            Some(kind) => (self.held[kind as usize], self.developed[kind as usize]),
            None => (self.held.iter().sum(), self.developed.iter().sum()),
        }
    }
}

impl OfSides {
    /// Adds what was counted elsewhere.
    pub fn add(&mut self, other: OfSides) {
        self.by_player.add(other.by_player);
        self.by_ratings.add(other.by_ratings);
        for (split, levels) in other.held {
            for (level, folds) in levels {
                self.add_held(split, &level, &folds);
            }
        }
    }

    /// Adds held pieces of a level by fold.
    pub fn add_held(&mut self, split: Split, level: &str, counts: &[Held]) {
        let levels = self.held.entry(split).or_default();
        let sums = levels.entry(level.to_owned()).or_default();
        sums.resize(FOLDS, Held::default());
        for (sum, count) in sums.iter_mut().zip(counts) {
            sum.add(count);
        }
    }

    /// Adds held pieces to the cells of their measures: how many at a turn, and their share in splits
    /// that the cube does not know.
    pub fn count(&self, splits: &[Split], cells: &mut Cells) {
        for &split in splits {
            // Of the split by kind the levels are the kinds of all sides.
            let read = if split == Split::Kind {
                Split::All
            } else {
                split
            };
            for (level, folds) in self.held.get(&read).into_iter().flatten() {
                let kinds = Kind::ALL.into_iter().map(Some);
                let kinds: Vec<Option<Kind>> = match split {
                    Split::All => vec![None],
                    Split::Kind => kinds.collect(),
                    _ => std::iter::once(None).chain(kinds).collect(),
                };
                for kind in kinds {
                    let level = match kind {
                        Some(kind) if split == Split::Kind => kind.name(),
                        _ => level.as_str(),
                    };
                    for (fold, held) in folds.iter().enumerate() {
                        let (events, developed) = held.of(kind);
                        let mut put = |measure, trials| {
                            let place = Place::new(measure, split, level, kind);
                            add(cells, place, fold, events, trials);
                        };
                        put(Measure::HeldTurnsPerTurn, held.turns);
                        if matches!(split, Split::Color | Split::Eco) {
                            put(Measure::HeldShare, developed);
                        }
                    }
                }
            }
        }
    }
}
