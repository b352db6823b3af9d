//! Counts of pieces and events by group, stratum and fold.

use std::cmp::Ordering;

use rayon::prelude::*;
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize, Serializer};

use super::count::Count;
use super::count_bytes::{self, CountBytes};
use super::stratum::Stratum;

/// Where a count belongs: number of the group, stratum, fold.
pub type Place = (u8, Stratum, u8);

/// Counts by group, stratum and fold, in that order: of all pieces, then of those to whom each
/// event came. The size depends on the strata met, not on the number of games.
///
/// Most places have a few rows and no event: they are kept in runs, as bytes, which take a seventh of a table with a
/// column for each event. The rest of a sum's memory is what runs are added from.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(from = "Vec<(Place, Vec<Count>)>")]
pub struct Cells {
    /// All but the last are full.
    runs: Vec<Run>,
}

/// Places of a run.
const RUN: usize = 4096;

/// Places in their order, and the counts of each.
#[derive(Debug, Clone, Default, PartialEq)]
struct Run {
    places: Vec<Place>,
    counts: CountBytes,
}

impl Run {
    fn rows(&self) -> impl Iterator<Item = (Place, &[u8])> {
        (self.places.iter().copied()).zip((0..).map(move |row| self.counts.row(row)))
    }
}

impl Cells {
    /// Adds lists of rows: their places, turns they stand for, and which events came to them, a bit
    /// each.
    pub fn of_rows(lists: Vec<Vec<Row>>) -> Cells {
        let mut rows = Vec::with_capacity(lists.iter().map(Vec::len).sum());
        for list in lists {
            rows.extend(list);
        }
        rows.par_sort_unstable_by_key(Row::place);
        let mut cells = Cells::default();
        let mut counts = Vec::new();
        for of_place in rows.chunk_by(|one, other| one.place() == other.place()) {
            counts.clear();
            for row in of_place {
                row.add_to(&mut counts);
            }
            cells.push(of_place[0].place(), &counts);
        }
        cells
    }

    /// Adds the counts of a place behind the last.
    fn push(&mut self, place: Place, counts: &[Count]) {
        let run = self.open(place);
        run.counts.push(counts);
    }

    /// The run that a place behind the last goes into, which is put there.
    fn open(&mut self, place: Place) -> &mut Run {
        if self.runs.last().is_none_or(|run| run.places.len() == RUN) {
            if let Some(full) = self.runs.last_mut() {
                full.counts.shrink();
            }
            self.runs.push(Run::default());
        }
        let last = self.runs.len() - 1;
        let run = &mut self.runs[last];
        run.places.push(place);
        run
    }

    /// Adds the counts of another. The runs of both go as their places are added.
    pub fn add(&mut self, other: Cells) {
        if self.runs.is_empty() || other.runs.is_empty() {
            if self.runs.is_empty() {
                *self = other;
            }
            return;
        }
        let mut sum = Cells::default();
        let (mut own, mut others) = (Walk::of(std::mem::take(self)), Walk::of(other));
        let mut counts = Vec::new();
        loop {
            let order = match (own.place(), others.place()) {
                (Some(one), Some(other)) => one.cmp(&other),
                (Some(_), None) => Ordering::Less,
                (None, Some(_)) => Ordering::Greater,
                (None, None) => break,
            };
            match order {
                Ordering::Less => own.copy_to(&mut sum),
                Ordering::Greater => others.copy_to(&mut sum),
                Ordering::Equal => {
                    counts.clear();
                    let place = own.add_to(&mut counts);
                    others.add_to(&mut counts);
                    sum.push(place, &counts);
                }
            }
        }
        *self = sum;
    }

    fn rows(&self) -> impl Iterator<Item = (Place, &[u8])> {
        self.runs.iter().flat_map(Run::rows)
    }

    /// Some counts of each place of the group of this number, in order: 0 is that of all pieces,
    /// then come the events.
    pub fn of<const N: usize>(
        &self,
        group: usize,
        columns: [usize; N],
    ) -> impl Iterator<Item = (Stratum, u8, [Count; N])> {
        let is_before = move |place: &Place| usize::from(place.0) < group;
        let ends_before = |run: &Run| run.places.last().is_some_and(is_before);
        let first = self.runs.partition_point(ends_before);
        let rows = self.runs[first..].iter().flat_map(Run::rows);
        let rows = rows.skip_while(move |row| is_before(&row.0));
        let of_group = rows.take_while(move |row| usize::from(row.0.0) == group);
        of_group.map(move |((_, stratum, fold), bytes)| {
            let mut counts = [Count::default(); N];
            for (column, count) in count_bytes::read(bytes) {
                for (sum, _) in (counts.iter_mut().zip(columns)).filter(|(_, one)| *one == column) {
                    *sum = count;
                }
            }
            (stratum, fold, counts)
        })
    }
}

/// Goes through the places of counts, and drops the runs that are behind.
struct Walk {
    runs: std::vec::IntoIter<Run>,
    run: Run,
    row: usize,
}

impl Walk {
    fn of(cells: Cells) -> Walk {
        let mut runs = cells.runs.into_iter();
        let run = runs.next().unwrap_or_default();
        Walk { runs, run, row: 0 }
    }

    /// The next place, if there is one.
    fn place(&mut self) -> Option<Place> {
        while self.row == self.run.places.len() {
            self.run = self.runs.next()?;
            self.row = 0;
        }
        Some(self.run.places[self.row])
    }

    /// Copies the counts of the next place.
    fn copy_to(&mut self, sum: &mut Cells) {
        let run = sum.open(self.run.places[self.row]);
        run.counts.push_bytes(self.run.counts.row(self.row));
        self.row += 1;
    }

    /// Adds the counts of the next place.
    fn add_to(&mut self, counts: &mut Vec<Count>) -> Place {
        for (column, count) in count_bytes::read(self.run.counts.row(self.row)) {
            add(counts, column, count);
        }
        self.row += 1;
        self.run.places[self.row - 1]
    }
}

/// Adds to the count of a column, whether it is there yet or not.
fn add(counts: &mut Vec<Count>, column: usize, count: Count) {
    if counts.len() <= column {
        counts.resize(column + 1, Count::default());
    }
    counts[column] += count;
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

    fn add_to(&self, counts: &mut Vec<Count>) {
        let count = Count {
            rows: 1,
            turns: self.turns.into(),
        };
        add(counts, 0, count);
        let mut came = self.came;
        while came != 0 {
            add(counts, 1 + came.trailing_zeros() as usize, count);
            came &= came - 1;
        }
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
        Cells::from_places(rows)
    }
}

impl Cells {
    fn from_places<C: AsRef<[Count]>>(mut rows: Vec<(Place, C)>) -> Cells {
        rows.sort_unstable_by_key(|row| row.0);
        let mut cells = Cells::default();
        let mut counts = Vec::new();
        // In a damaged state a place may stand twice.
        for of_place in rows.chunk_by(|one, other| one.0 == other.0) {
            counts.clear();
            for (_, more) in of_place {
                for (column, count) in more.as_ref().iter().enumerate() {
                    add(&mut counts, column, *count);
                }
            }
            cells.push(of_place[0].0, &counts);
        }
        cells
    }
}

impl From<Vec<(Place, Vec<Count>)>> for Cells {
    fn from(rows: Vec<(Place, Vec<Count>)>) -> Cells {
        Cells::from_places(rows)
    }
}

impl Serialize for Cells {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.rows().map(|(place, bytes)| {
            let mut counts = Vec::new();
            for (column, count) in count_bytes::read(bytes) {
                add(&mut counts, column, count);
            }
            (place, counts)
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn row((stratum, turns, came): (u64, u32, u16)) -> Row {
        let stratum = serde_json::from_value(stratum.into()).expect("a number");
        Row::new(((turns % 3) as u8, stratum, (came % 5) as u8), turns, came)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        /// More places than a run holds.
        #[test]
        fn sums_are_counts_of_all_rows(
            rows in prop::collection::vec((0_u64..4000, 1_u32..400, any::<u16>()), 0..12_000),
            cut in 0.0..1.0,
        ) {
            let rows: Vec<Row> = rows.into_iter().map(row).collect();
            let (one, two) = rows.split_at((rows.len() as f64 * cut) as usize);
            let whole = Cells::of_rows(vec![rows.clone()]);
            let mut sum = Cells::of_rows(vec![one.to_vec()]);
            sum.add(Cells::of_rows(vec![two.to_vec()]));
            prop_assert_eq!(&sum, &whole);
            let written = serde_json::to_string(&sum).expect("JSON");
            let read: Cells = serde_json::from_str(&written).expect("a state");
            prop_assert_eq!(&read, &whole);
            for group in 0..3 {
                let of_group = |row: &&Row| row.group == group;
                let turns = rows.iter().filter(of_group).map(|row| u64::from(row.turns));
                let counted: u64 = whole.of(group.into(), [0]).map(|(_, _, [all])| all.turns).sum();
                prop_assert_eq!(counted, turns.sum::<u64>());
                let came = |row: &Row| row.came & 1 << 7 != 0;
                let met = rows.iter().filter(of_group).filter(|row| came(row)).count() as u64;
                let counted: u64 = whole.of(group.into(), [8]).map(|(_, _, [met])| met.rows).sum();
                prop_assert_eq!(counted, met);
            }
        }
    }
}
