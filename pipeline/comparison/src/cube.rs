//! Counts of the exposure cube for a question: by group, stratum, fold and side.

use std::collections::{BTreeMap, HashMap};

use rayon::prelude::*;
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use crate::question::Question;
use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::filter::{self, Mask};
use hobble_conditions::terms::{Key, Outcome, rank};
use hobble_dataset::Part;
use hobble_dataset::columns::Rows;
use hobble_statistics::standardise::{Cell, Table};

/// The counts of a question.
#[derive(Debug, Clone)]
pub struct Cube {
    /// One entry a group, sorted: the values of the question's `group_by`, and its counts.
    pub groups: Vec<(Vec<String>, Table)>,
    /// All groups together.
    pub all: Table,
}

/// Keys by which rows are counted, each once.
fn keys(question: &Question) -> Vec<Key> {
    let mut keys: Vec<Key> = question.group_by.clone();
    for &key in &question.strata {
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    keys
}

/// Columns to be read of the cube.
struct Columns {
    /// Those of the counted outcome.
    counted: Vec<String>,
    /// That of games over.
    over: String,
}

impl Columns {
    fn of(question: &Question) -> Columns {
        let within = question.within;
        Columns {
            counted: match question.outcome {
                Outcome::Captured => ["lost", "traded", "sold"]
                    .map(|outcome| format!("{outcome}_{within}"))
                    .to_vec(),
                one => vec![format!("{one}_{within}")],
            },
            over: format!("over_{within}"),
        }
    }

    fn names(&self, question: &Question, keys: &[Key]) -> Vec<&str> {
        let mut names: Vec<&str> = filter::columns(&question.conditions(AskedRows::Exposure, &[]));
        names.extend(keys.iter().map(|key| key.name()));
        names.extend(["safe", "fold", "turns", &self.over]);
        names.extend(self.counted.iter().map(String::as_str));
        names.sort_unstable();
        names.dedup();
        names
    }
}

/// Counts a part of the cube.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn count(question: &Question, part: &Part) -> Result<Counts, AskError> {
    let keys = keys(question);
    let columns = Columns::of(question);
    let names = columns.names(question, &keys);
    part.groups()?
        .into_par_iter()
        .try_fold(Counts::default, |mut counts, group| {
            for rows in part.read(&names, group)? {
                counts.in_batch(question, &keys, &columns, &rows?)?;
            }
            Ok::<_, AskError>(counts)
        })
        .try_reduce(Counts::default, |mut sum, counts| {
            sum.add(counts);
            Ok(sum)
        })
}

/// A cell's place. Compared in the order of its fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
struct Place {
    /// By key, the number of its value; 0 behind the last key.
    values: [u32; Key::ALL.len()],
    fold: u32,
    held: bool,
}

impl Place {
    fn new(fold: u32, held: bool) -> Place {
        Place {
            values: Default::default(),
            fold,
            held,
        }
    }
}

/// Counts by key values, fold and side. Key values are numbered as they come.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Counts {
    /// By key: numbers of its values.
    numbers: Vec<HashMap<String, u32>>,
    #[serde(with = "hobble_conditions::sum::hashed")]
    cells: FxHashMap<Place, Cell>,
}

impl Counts {
    fn in_batch(
        &mut self,
        question: &Question,
        keys: &[Key],
        columns: &Columns,
        rows: &Rows,
    ) -> Result<(), AskError> {
        let mask = Mask::of(rows, &question.conditions(AskedRows::Exposure, &[]))?;
        self.numbers.resize_with(keys.len(), HashMap::new);
        let mut codes: Vec<Vec<u32>> = Vec::new();
        for (key, numbers) in keys.iter().zip(&mut self.numbers) {
            codes.push(numbered(rows, *key, numbers)?);
        }
        let (folds, safe) = (rows.numbers("fold")?, rows.numbers("safe")?);
        let (turns, over) = (rows.numbers("turns")?, rows.numbers(&columns.over)?);
        let mut outcomes = Vec::new();
        for column in &columns.counted {
            outcomes.push(rows.numbers(column)?);
        }
        for row in mask.rows() {
            let cell = Cell {
                turns: turns.at(row),
                outcomes: outcomes.iter().map(|column| column.at(row)).sum(),
                over: over.at(row),
            };
            if cell.outcomes.saturating_add(cell.over) > cell.turns {
                return Err(rows
                    .bad(format!(
                        "a row counts {} outcomes and {} games over in {} turns",
                        cell.outcomes, cell.over, cell.turns
                    ))
                    .into());
            }
            let held = safe.at(row) <= u64::from(question.k);
            let mut place = Place::new(folds.at(row) as u32, held);
            for (to, codes) in place.values.iter_mut().zip(&codes) {
                *to = codes[row];
            }
            *self.cells.entry(place).or_default() += cell;
        }
        Ok(())
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: Counts) {
        if self.numbers.len() < other.numbers.len() {
            self.numbers.resize_with(other.numbers.len(), HashMap::new);
        }
        let renumbered: Vec<Vec<u32>> = self
            .numbers
            .iter_mut()
            .zip(other.numbers)
            .map(|(numbers, others)| {
                let mut new = vec![0; others.len()];
                for (value, number) in others {
                    new[number as usize] = number_of(numbers, value);
                }
                new
            })
            .collect();
        for (mut place, cell) in other.cells {
            for (value, new) in place.values.iter_mut().zip(&renumbered) {
                *value = new[*value as usize];
            }
            *self.cells.entry(place).or_default() += cell;
        }
    }

    /// Groups and strata of a question, with their counts.
    pub fn cube(&self, question: &Question) -> Cube {
        let keys = keys(question);
        let (values, cells) = self.in_order(&keys);
        let at = |key: &Key| keys.iter().position(|other| other == key);
        let group_at: Vec<usize> = question.group_by.iter().filter_map(at).collect();
        let strata_at: Vec<usize> = question.strata.iter().filter_map(at).collect();
        let pick = |at: &[usize], place: &Place| -> Vec<u32> {
            at.iter().map(|&i| place.values[i]).collect()
        };

        let mut strata: BTreeMap<Vec<u32>, usize> = BTreeMap::new();
        for (place, _) in &cells {
            strata.insert(pick(&strata_at, place), 0);
        }
        for (number, stratum) in strata.values_mut().enumerate() {
            *stratum = number;
        }
        let mut all = Table::default();
        let mut groups: BTreeMap<Vec<u32>, Table> = BTreeMap::new();
        for (place, cell) in &cells {
            let stratum = strata[&pick(&strata_at, place)];
            let Place { fold, held, .. } = *place;
            all.add(stratum, fold, held, *cell);
            groups
                .entry(pick(&group_at, place))
                .or_default()
                .add(stratum, fold, held, *cell);
        }
        let groups = groups
            .into_iter()
            .map(|(codes, table)| {
                let names = codes
                    .iter()
                    .zip(&group_at)
                    .map(|(&code, &at)| values[at][code as usize].clone())
                    .collect();
                (names, table)
            })
            .collect();
        Cube { groups, all }
    }

    /// Values of each key in a reader's order, and the cells with values numbered so, sorted:
    /// sums come out the same to the last bit in whatever order rows are read.
    fn in_order(&self, keys: &[Key]) -> (Vec<Vec<String>>, Vec<(Place, Cell)>) {
        let mut values: Vec<Vec<String>> = Vec::new();
        let mut ordered: Vec<Vec<u32>> = Vec::new();
        for (&key, numbers) in keys.iter().zip(&self.numbers) {
            let mut sorted: Vec<(&String, &u32)> = numbers.iter().collect();
            sorted.sort_by_key(|(value, _)| (rank(key, value), *value));
            let mut places = vec![0; sorted.len()];
            for (place, (_, number)) in (0..).zip(&sorted) {
                places[**number as usize] = place;
            }
            ordered.push(places);
            values.push(sorted.into_iter().map(|(value, _)| value.clone()).collect());
        }
        let mut cells: Vec<(Place, Cell)> = self
            .cells
            .iter()
            .map(|(&(mut place), &cell)| {
                for (code, ordered) in place.values.iter_mut().zip(&ordered) {
                    *code = ordered[*code as usize];
                }
                (place, cell)
            })
            .collect();
        cells.sort_unstable_by_key(|cell| cell.0);
        (values, cells)
    }
}

/// The number of a value, a new one numbered on.
fn number_of(numbers: &mut HashMap<String, u32>, value: String) -> u32 {
    let next = numbers.len() as u32;
    *numbers.entry(value).or_insert(next)
}

/// The values of a key column as numbers, new values numbered on.
fn numbered(
    rows: &Rows,
    key: Key,
    numbers: &mut HashMap<String, u32>,
) -> Result<Vec<u32>, AskError> {
    if key.is_boolean() {
        let values = rows.booleans(key.name())?;
        let [no, yes] = ["no", "yes"].map(|word| number_of(numbers, word.to_owned()));
        return Ok(values
            .values()
            .iter()
            .map(|is| if is { yes } else { no })
            .collect());
    }
    let read = rows
        .texts(key.name())?
        .read_as(|value| value.map(|value| number_of(numbers, value.to_owned())));
    let null = || rows.bad(format!("column \"{key}\" holds a null"));
    (0..rows.len())
        .map(|row| Ok(read.at(row).ok_or_else(null)?))
        .collect()
}
