//! Numerators and denominators of every cell, fold by fold.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::measures::{Measure, Split};
use hobble_conditions::terms::rank;
use hobble_conditions::terms::{Key, Kind};

pub use hobble_terms::FOLDS;

/// Kind of a cell: a piece's, or every one together.
pub type KindOrAll = Option<Kind>;

/// Where a cell stands in the long table; sorts as the table does.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Place {
    /// What is measured.
    pub measure: Measure,
    /// What it is split by.
    pub split: Split,
    /// The level's order, then its name.
    pub level: (u32, String),
    /// Kind of piece; `None` for all.
    pub kind: KindOrAll,
}

impl Place {
    /// The place of a level.
    pub fn new(measure: Measure, split: Split, level: &str, kind: KindOrAll) -> Place {
        Place {
            measure,
            split,
            level: (order(split, level), level.to_owned()),
            kind,
        }
    }
}

/// Where a level stands among the others of its split.
pub fn order(split: Split, level: &str) -> u32 {
    let of = |key| rank(key, level);
    match split {
        Split::Band => of(Key::Band),
        Split::TimeClass => of(Key::TimeClass),
        Split::Phase => of(Key::Phase),
        Split::Kind => of(Key::Kind),
        Split::Color => u32::from(level != "white"),
        Split::Eco => match level {
            "none" => u32::MAX,
            letter => letter.bytes().next().map_or(u32::MAX, u32::from),
        },
        Split::All => 0,
    }
}

/// A numerator and its denominator.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Ratio {
    /// What is counted.
    pub events: u64,
    /// Out of how much.
    pub trials: u64,
}

impl Ratio {
    /// Adds counts.
    pub fn add(&mut self, events: u64, trials: u64) {
        self.events += events;
        self.trials += trials;
    }

    /// Without another's counts, which are among these.
    pub fn without(self, part: Ratio) -> Ratio {
        Ratio {
            events: self.events.saturating_sub(part.events),
            trials: self.trials.saturating_sub(part.trials),
        }
    }

    /// The quotient; NaN without trials.
    pub fn value(self) -> f64 {
        self.events as f64 / self.trials as f64
    }
}

/// Counts by fold.
pub type Folds = [Ratio; FOLDS];

/// The counts of all cells.
pub type Cells = BTreeMap<Place, Folds>;

/// Adds counts to a cell.
pub fn add(cells: &mut Cells, place: Place, fold: usize, events: u64, trials: u64) {
    cells.entry(place).or_insert([Ratio::default(); FOLDS])[fold % FOLDS].add(events, trials);
}

/// Counts of all folds together.
pub fn total(folds: &Folds) -> Ratio {
    let mut sum = Ratio::default();
    for fold in folds {
        sum.add(fold.events, fold.trials);
    }
    sum
}
