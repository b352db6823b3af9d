//! Counts by stratum and fold, one for each choice of a claim.

use std::collections::hash_map::Entry;

use hobble_statistics::standardise::Cell;
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::stratum::Stratum;

/// Counts by stratum and fold, one for each choice.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(from = "Vec<Row>", into = "Vec<Row>")]
pub struct Cells(FxHashMap<(Stratum, u8), Box<[Cell]>>);

/// Stratum, fold, and the counts by choice.
type Row = (Stratum, u8, Box<[Cell]>);

impl Cells {
    /// The counts of a stratum and fold, for so many choices.
    pub fn at(&mut self, stratum: Stratum, fold: u8, choices: usize) -> &mut [Cell] {
        let none = || vec![Cell::default(); choices].into_boxed_slice();
        self.0.entry((stratum, fold)).or_insert_with(none)
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: Cells) {
        for (place, cells) in other.0 {
            match self.0.entry(place) {
                Entry::Vacant(entry) => {
                    entry.insert(cells);
                }
                Entry::Occupied(mut entry) => {
                    for (sum, cell) in entry.get_mut().iter_mut().zip(cells) {
                        *sum += cell;
                    }
                }
            }
        }
    }

    /// The counts of one choice that are not empty, with their stratum and fold.
    pub fn of(&self, choice: usize) -> impl Iterator<Item = (Stratum, u8, Cell)> {
        self.0.iter().filter_map(move |(&(stratum, fold), cells)| {
            let cell = cells.get(choice).filter(|cell| cell.turns > 0)?;
            Some((stratum, fold, *cell))
        })
    }
}

impl From<Vec<Row>> for Cells {
    fn from(rows: Vec<Row>) -> Cells {
        let place = |(stratum, fold, cells)| ((stratum, fold), cells);
        Cells(rows.into_iter().map(place).collect())
    }
}

impl From<Cells> for Vec<Row> {
    fn from(cells: Cells) -> Vec<Row> {
        let row = |((stratum, fold), cells)| (stratum, fold, cells);
        let mut rows: Vec<Row> = cells.0.into_iter().map(row).collect();
        rows.sort_unstable_by_key(|row| (row.0, row.1));
        rows
    }
}
