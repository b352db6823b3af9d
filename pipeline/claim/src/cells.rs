//! Counts of pieces and events by group, stratum and fold.

use std::cmp::Ordering;

use rayon::prelude::*;
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::stratum::Stratum;

/// Rows of the table, and the turns they stand for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "(u64, u64)", into = "(u64, u64)")]
pub struct Count {
    /// Rows.
    pub rows: u64,
    /// Turns: the sum of their weights.
    pub turns: u64,
}

impl From<(u64, u64)> for Count {
    fn from((rows, turns): (u64, u64)) -> Count {
        Count { rows, turns }
    }
}

impl From<Count> for (u64, u64) {
    fn from(count: Count) -> (u64, u64) {
        (count.rows, count.turns)
    }
}

impl std::ops::AddAssign for Count {
    fn add_assign(&mut self, other: Self) {
        self.rows += other.rows;
        self.turns += other.turns;
    }
}

impl std::ops::SubAssign for Count {
    fn sub_assign(&mut self, other: Self) {
        self.rows -= other.rows;
        self.turns -= other.turns;
    }
}

/// Where a count belongs: number of the group, stratum, fold.
pub type Place = (u8, Stratum, u8);

/// Counts by group, stratum and fold, in that order: of all pieces, then of those to whom each
/// event came. The size depends on the strata met, not on the number of games.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(from = "Vec<(Place, Vec<Count>)>", into = "Vec<(Place, Vec<Count>)>")]
pub struct Cells {
    places: Vec<Place>,
    /// A column for all pieces and one for each event.
    columns: Vec<Vec<Count>>,
}

impl Cells {
    /// No counts yet, but room for so many.
    fn with_width(width: usize) -> Cells {
        Cells {
            places: Vec::new(),
            columns: vec![Vec::new(); width],
        }
    }

    /// Adds lists of rows: their places, turns they stand for, and which events came to them, a bit
    /// each.
    pub fn of_rows(rows: Vec<Vec<Row>>, events: usize) -> Cells {
        let mut rows = rows.concat();
        rows.par_sort_unstable_by_key(Row::place);
        let mut cells = Cells::with_width(1 + events);
        for row in rows {
            cells.open(row.place());
            let count = Count {
                rows: 1,
                turns: row.turns.into(),
            };
            cells.put(0, count);
            let mut came = row.came;
            while came != 0 {
                cells.put(1 + came.trailing_zeros() as usize, count);
                came &= came - 1;
            }
        }
        cells
    }

    /// Goes to a place that is not before the last.
    fn open(&mut self, place: Place) {
        if self.places.last() != Some(&place) {
            self.places.push(place);
            for column in &mut self.columns {
                column.push(Count::default());
            }
        }
    }

    /// Adds to a count of the last place.
    fn put(&mut self, column: usize, count: Count) {
        if let Some(sum) = self.columns[column].last_mut() {
            *sum += count;
        }
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: Cells) {
        if self.places.is_empty() || other.places.is_empty() {
            if self.places.is_empty() {
                *self = other;
            }
            return;
        }
        let rows = merged(&self.places, &other.places);
        let place = |row: &Merged| match *row {
            Merged::Own(row) | Merged::Both(row, _) => self.places[row],
            Merged::Other(row) => other.places[row],
        };
        let places = rows.iter().map(place).collect();
        let width = self.columns.len().max(other.columns.len());
        self.columns.resize_with(width, Vec::new);
        let none = Vec::new();
        let columns = self.columns.par_iter_mut().enumerate();
        columns.for_each(|(number, column)| {
            let others = other.columns.get(number).unwrap_or(&none);
            // A column that only one of the two has is shorter.
            let of = |counts: &[Count], row: usize| counts.get(row).copied().unwrap_or_default();
            let count = |row: &Merged| match *row {
                Merged::Own(row) => of(column, row),
                Merged::Other(row) => of(others, row),
                Merged::Both(row, other) => {
                    let mut sum = of(column, row);
                    sum += of(others, other);
                    sum
                }
            };
            *column = rows.iter().map(count).collect();
        });
        self.places = places;
    }

    /// Some counts of each place of the group of this number, in order: 0 is that of all pieces,
    /// then come the events.
    pub fn of<const N: usize>(
        &self,
        group: usize,
        columns: [usize; N],
    ) -> impl Iterator<Item = (Stratum, u8, [Count; N])> {
        let before = |number: usize| {
            let is_before = |place: &Place| usize::from(place.0) < number;
            self.places.partition_point(is_before)
        };
        (before(group)..before(group + 1)).map(move |row| {
            let (_, stratum, fold) = self.places[row];
            let counts = columns.map(|column| self.columns[column][row]);
            (stratum, fold, counts)
        })
    }
}

/// Where a row of a sum comes from: row numbers of the two added.
#[derive(Clone, Copy)]
enum Merged {
    Own(usize),
    Other(usize),
    Both(usize, usize),
}

/// The rows of two lists of places, each in order, as those of one.
fn merged(own: &[Place], others: &[Place]) -> Vec<Merged> {
    let mut rows = Vec::with_capacity(own.len() + others.len());
    let (mut one, mut two) = (0, 0);
    while one < own.len() && two < others.len() {
        let order = own[one].cmp(&others[two]);
        rows.push(match order {
            Ordering::Less => Merged::Own(one),
            Ordering::Greater => Merged::Other(two),
            Ordering::Equal => Merged::Both(one, two),
        });
        one += usize::from(order.is_le());
        two += usize::from(order.is_ge());
    }
    rows.extend((one..own.len()).map(Merged::Own));
    rows.extend((two..others.len()).map(Merged::Other));
    rows
}

/// A row to be counted. Rows are kept until their part is read, and sorted: most places are met
/// once or twice, so that looking each one up takes longer.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    stratum: Stratum,
    turns: u32,
    came: u16,
    group: u8,
    fold: u8,
}

impl Row {
    /// A row that stands for so many turns; each bit of `came` is an event.
    pub fn new((group, stratum, fold): Place, turns: u32, came: u16) -> Row {
        Row {
            stratum,
            turns,
            came,
            group,
            fold,
        }
    }

    fn place(&self) -> Place {
        (self.group, self.stratum, self.fold)
    }
}

/// Counts as rows are met: each has numbers that are summed up.
#[derive(Debug, Default)]
pub struct Tally(FxHashMap<Place, Box<[Count]>>);

impl Tally {
    /// Adds a row that stands for `turns` turns, and its numbers.
    pub fn add_row(&mut self, place: Place, turns: u64, numbers: &[u32]) {
        let none = || vec![Count::default(); numbers.len() + 1].into_boxed_slice();
        let counts = self.0.entry(place).or_insert_with(none);
        counts[0] += Count { rows: 1, turns };
        for (count, &number) in counts[1..].iter_mut().zip(numbers) {
            if number > 0 {
                *count += Count {
                    rows: 1,
                    turns: turns * u64::from(number),
                };
            }
        }
    }
}

impl From<Tally> for Cells {
    fn from(tally: Tally) -> Cells {
        let rows: Vec<(Place, Box<[Count]>)> = tally.0.into_iter().collect();
        Cells::from_rows(rows)
    }
}

impl Cells {
    fn from_rows<C: AsRef<[Count]>>(mut rows: Vec<(Place, C)>) -> Cells {
        rows.sort_unstable_by_key(|row| row.0);
        let width = rows.first().map_or(0, |row| row.1.as_ref().len());
        let mut cells = Cells::with_width(width);
        for (place, counts) in rows {
            cells.open(place);
            for (column, count) in counts.as_ref().iter().enumerate() {
                cells.put(column, *count);
            }
        }
        cells
    }
}

impl From<Vec<(Place, Vec<Count>)>> for Cells {
    fn from(mut rows: Vec<(Place, Vec<Count>)>) -> Cells {
        // A damaged state must not be read past its end.
        let width = rows.iter().map(|row| row.1.len()).max().unwrap_or(0);
        for row in &mut rows {
            row.1.resize(width, Count::default());
        }
        Cells::from_rows(rows)
    }
}

impl From<Cells> for Vec<(Place, Vec<Count>)> {
    fn from(cells: Cells) -> Self {
        let of_row = |row: usize| cells.columns.iter().map(|column| column[row]).collect();
        let rows = cells.places.iter().enumerate();
        rows.map(|(row, place)| (*place, of_row(row))).collect()
    }
}
