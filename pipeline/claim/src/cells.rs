//! Counts of pieces and events by group, stratum and fold.

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

/// Counts by group, stratum and fold: of all pieces, then of those to whom each event came.
/// The size depends on the strata met, not on the number of games.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(
    from = "Vec<(Place, Box<[Count]>)>",
    into = "Vec<(Place, Box<[Count]>)>"
)]
pub struct Cells(FxHashMap<Place, Box<[Count]>>);

impl Cells {
    /// Adds a row that stands for `turns` turns, and what is counted of it: 1 for an event that
    /// came, 0 for one that did not, or a number that is summed up.
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

    /// Adds the counts of another.
    pub fn add(&mut self, other: Cells) {
        if self.0.is_empty() {
            self.0 = other.0;
            return;
        }
        for (place, counts) in other.0 {
            match self.0.get_mut(&place) {
                None => {
                    self.0.insert(place, counts);
                }
                Some(sums) => {
                    for (sum, count) in sums.iter_mut().zip(counts) {
                        *sum += count;
                    }
                }
            }
        }
    }

    /// The counts of the groups whose number passes, in no order: of all pieces and of an
    /// event.
    pub fn of(&self, group: impl Fn(u8) -> bool) -> impl Iterator<Item = (Stratum, u8, &[Count])> {
        self.0
            .iter()
            .filter(move |((number, ..), _)| group(*number))
            .map(|(&(_, stratum, fold), counts)| (stratum, fold, &**counts))
    }
}

impl From<Vec<(Place, Box<[Count]>)>> for Cells {
    fn from(rows: Vec<(Place, Box<[Count]>)>) -> Cells {
        Cells(rows.into_iter().collect())
    }
}

impl From<Cells> for Vec<(Place, Box<[Count]>)> {
    fn from(cells: Cells) -> Self {
        let mut rows: Vec<_> = cells.0.into_iter().collect();
        rows.sort_unstable_by_key(|row| row.0);
        rows
    }
}
