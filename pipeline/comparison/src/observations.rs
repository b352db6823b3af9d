//! Rows of `turns` for a question: counted by group, stratum, fold and side.

use std::collections::{BTreeMap, HashMap};
use std::ops::AddAssign;

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use crate::keys;
use crate::question::Question;
use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::filter::{self, Condition, Mask};
use hobble_conditions::terms::{Key, Outcome, rank};
use hobble_dataset::Part;
use hobble_dataset::columns::{Rows, boolean};
use hobble_statistics::few::FREE_ROWS;
use hobble_statistics::standardise::{Cell, Table};
use hobble_terms::Fate;

/// Rows of one cell, and the turns they stand for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counted {
    /// By weight: an estimate of all turns.
    pub turns: Cell,
    /// The rows of the table.
    pub rows: Cell,
}

impl Counted {
    /// Rows that stand for `weight` turns each.
    pub fn weighing(rows: Cell, weight: u64) -> Counted {
        let turns = rows * weight;
        Counted { turns, rows }
    }
}

impl AddAssign for Counted {
    fn add_assign(&mut self, other: Counted) {
        self.turns += other.turns;
        self.rows += other.rows;
    }
}

/// One cell of a comparison.
#[derive(Debug, Clone, Copy)]
pub struct Observed {
    /// Number of the stratum, from 0.
    pub stratum: usize,
    /// Fold of games.
    pub fold: u32,
    /// Whether its pieces are the restricted ones, not free ones.
    pub restricted: bool,
    /// How many.
    pub counted: Counted,
}

impl Observed {
    /// Rows of a cell that stand for one turn each.
    pub fn every_turn(stratum: usize, fold: u32, restricted: bool, rows: Cell) -> Observed {
        Observed {
            stratum,
            fold,
            restricted,
            counted: Counted::weighing(rows, 1),
        }
    }
}

/// The counts of a group, by weight and by row.
#[derive(Debug, Clone, Default)]
pub struct Tables {
    /// By weight: the figures come from these.
    pub turns: Table,
    /// By row: whether there are enough of them.
    pub rows: Table,
}

impl Tables {
    /// Of cells in any order. Free pieces of a stratum with fewer than [`FREE_ROWS`] rows of them
    /// are comparable with nothing: they are put in a stratum of their own.
    pub fn of(cells: &[Observed]) -> Tables {
        let strata = cells.iter().map(|cell| cell.stratum + 1).max().unwrap_or(0);
        let mut free_rows = vec![0; strata];
        for cell in cells.iter().filter(|cell| !cell.restricted) {
            free_rows[cell.stratum] += cell.counted.rows.turns;
        }
        let mut tables = Tables::default();
        for cell in cells {
            let thin = !cell.restricted && free_rows[cell.stratum] < FREE_ROWS;
            let stratum = if thin { strata } else { cell.stratum };
            let (fold, side) = (cell.fold, cell.restricted);
            tables.turns.add(stratum, fold, side, cell.counted.turns);
            tables.rows.add(stratum, fold, side, cell.counted.rows);
        }
        tables
    }
}

/// The counts of a question.
#[derive(Debug, Clone)]
pub struct Groups {
    /// One entry a group, sorted: the values of the question's `group_by`, and its counts.
    pub groups: Vec<(Vec<String>, Tables)>,
    /// All groups together.
    pub all: Tables,
}

/// Keys by which rows are counted, each once.
fn counted_by(question: &Question) -> Vec<Key> {
    let mut keys: Vec<Key> = question.group_by.clone();
    for &key in &question.strata {
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    keys
}

/// What is asked of rows, worked out once for all of them.
struct Asked<'a> {
    question: &'a Question,
    keys: Vec<Key>,
    /// The column of turns restrained at the question's k.
    restrained: String,
    own: Vec<Condition<'a>>,
    free: Vec<Condition<'a>>,
    /// Turns that a row stands for where its turn is in by the sample alone.
    sample: u64,
}

impl<'a> Asked<'a> {
    fn of(question: &'a Question, sample: u64) -> Asked<'a> {
        let (own, free) = if question.is_of_restrained() {
            (AskedRows::RestrainedTurns, AskedRows::FreeBesideRestrained)
        } else {
            (AskedRows::HeldTurns, AskedRows::FreeBesideHeld)
        };
        Asked {
            question,
            keys: counted_by(question),
            restrained: format!("restrained_{}", question.k),
            own: question.conditions(own, &[]),
            free: question.conditions(free, &[]),
            sample,
        }
    }

    fn columns(&self) -> Vec<&str> {
        let mut names: Vec<&str> = filter::columns(&self.own);
        names.extend(filter::columns(&self.free));
        names.extend(self.keys.iter().map(|&key| keys::column(key)));
        names.extend(["fold", "ply", "landmark", "safe", "safe_last"]);
        names.extend(["attacked_last", "fate", "fate_ply", "plies_left"]);
        names.push(&self.restrained);
        names.sort_unstable();
        names.dedup();
        names
    }
}

/// Counts a part of `turns`; `sample` is how many turns one of the sample stands for.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn count(question: &Question, part: &Part, sample: u64) -> Result<Counts, AskError> {
    let asked = Asked::of(question, sample);
    let columns = asked.columns();
    let in_batch = |rows: &Rows, counts: &mut Counts| counts.in_batch(&asked, rows);
    part.count(&columns, Counts::default, in_batch, Counts::add)
}

/// A cell's place. Compared in the order of its fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
struct Place {
    /// By key, the number of its value; 0 behind the last key.
    values: [u16; Key::COUNT],
    fold: u8,
    restricted: bool,
}

/// Counts by key values, fold and side. Key values are numbered as they come.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Counts {
    /// By key: numbers of its values.
    numbers: Vec<HashMap<String, u16>>,
    #[serde(with = "hobble_conditions::sum::hashed")]
    cells: FxHashMap<Place, Counted>,
}

impl Counts {
    fn in_batch(&mut self, asked: &Asked<'_>, rows: &Rows) -> Result<(), AskError> {
        let question = asked.question;
        let sides = [Mask::of(rows, &asked.own)?, Mask::of(rows, &asked.free)?];
        self.numbers.resize_with(asked.keys.len(), HashMap::new);
        let mut codes: Vec<Vec<u16>> = Vec::new();
        for (&key, numbers) in asked.keys.iter().zip(&mut self.numbers) {
            codes.push(keys::numbered(rows, key, question.k, numbers)?);
        }
        let (folds, plies) = (rows.bytes("fold")?, rows.pairs("ply")?);
        let (safe, safe_last) = (rows.bytes("safe")?, rows.optional_numbers("safe_last")?);
        let landmark = rows.booleans("landmark")?;
        let attacked_last = rows.optional_booleans("attacked_last")?;
        let restrained = rows.optional_numbers(&asked.restrained)?;
        let fate = rows.texts("fate")?.read_as(|word| Fate::from_name(word?));
        let fate_ply = rows.optional_numbers("fate_ply")?;
        let plies_left = rows.pairs("plies_left")?;
        let horizon = 2 * u64::from(question.within);
        let of_restrained = question.is_of_restrained();
        let is_own = |row| !of_restrained || restrained.get(row) == Some(1);
        let is_free = |row| {
            let more = |squares: u64| squares > u64::from(question.k);
            more(u64::from(safe[row]))
                && (!of_restrained
                    || safe_last.get(row).is_some_and(more)
                        && boolean(attacked_last, row) == Some(false))
        };
        for row in 0..rows.len() {
            let own = sides[0].passes(row) && is_own(row);
            let free = !own && sides[1].passes(row) && is_free(row);
            if !own && !free {
                continue;
            }
            let invalid = || rows.bad(format!("row {}: invalid fate", rows.place(row)));
            let fate = fate.at(row).ok_or_else(invalid)?;
            let in_time = |ply: u64| ply.saturating_sub(plies[row].into()) <= horizon;
            let met = counts(question.outcome, fate) && fate_ply.get(row).is_some_and(in_time);
            let over = fate == Fate::Survived && u64::from(plies_left[row]) < horizon;
            let weight = if landmark.value(row) { 1 } else { asked.sample };
            let one = Cell {
                turns: 1,
                outcomes: met.into(),
                over: over.into(),
            };
            let mut place = Place {
                values: Default::default(),
                fold: folds[row],
                restricted: own,
            };
            for (to, codes) in place.values.iter_mut().zip(&codes) {
                *to = codes[row];
            }
            *self.cells.entry(place).or_default() += Counted::weighing(one, weight);
        }
        Ok(())
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: Counts) {
        if self.numbers.len() < other.numbers.len() {
            self.numbers.resize_with(other.numbers.len(), HashMap::new);
        }
        let renumbered: Vec<Vec<u16>> = self
            .numbers
            .iter_mut()
            .zip(other.numbers)
            .map(|(numbers, others)| {
                let mut new = vec![0; others.len()];
                for (value, number) in others {
                    new[usize::from(number)] = keys::number_of(numbers, &value);
                }
                new
            })
            .collect();
        for (mut place, counted) in other.cells {
            for (value, new) in place.values.iter_mut().zip(&renumbered) {
                *value = new[usize::from(*value)];
            }
            *self.cells.entry(place).or_default() += counted;
        }
    }

    /// Groups and strata of a question, with their counts.
    pub fn groups(&self, question: &Question) -> Groups {
        let keys = counted_by(question);
        let (values, cells) = self.in_order(&keys);
        let at = |key: &Key| keys.iter().position(|other| other == key);
        let group_at: Vec<usize> = question.group_by.iter().filter_map(at).collect();
        let strata_at: Vec<usize> = question.strata.iter().filter_map(at).collect();
        let pick = |at: &[usize], place: &Place| -> Vec<u16> {
            at.iter().map(|&i| place.values[i]).collect()
        };

        let mut strata: BTreeMap<Vec<u16>, usize> = BTreeMap::new();
        for (place, _) in &cells {
            strata.insert(pick(&strata_at, place), 0);
        }
        for (number, stratum) in strata.values_mut().enumerate() {
            *stratum = number;
        }
        let mut all = Vec::new();
        let mut groups: BTreeMap<Vec<u16>, Vec<Observed>> = BTreeMap::new();
        for (place, counted) in &cells {
            let observed = Observed {
                stratum: strata[&pick(&strata_at, place)],
                fold: place.fold.into(),
                restricted: place.restricted,
                counted: *counted,
            };
            all.push(observed);
            let group = groups.entry(pick(&group_at, place)).or_default();
            group.push(observed);
        }
        let named = |codes: Vec<u16>| -> Vec<String> {
            let named = codes.iter().zip(&group_at);
            named
                .map(|(&code, &at)| values[at][usize::from(code)].clone())
                .collect()
        };
        Groups {
            groups: groups
                .into_iter()
                .map(|(codes, cells)| (named(codes), Tables::of(&cells)))
                .collect(),
            all: Tables::of(&all),
        }
    }

    /// Values of each key in a reader's order, and the cells with values numbered so, sorted:
    /// sums come out the same to the last bit in whatever order rows are read.
    fn in_order(&self, keys: &[Key]) -> (Vec<Vec<String>>, Vec<(Place, Counted)>) {
        let mut values: Vec<Vec<String>> = Vec::new();
        let mut ordered: Vec<Vec<u16>> = Vec::new();
        for (&key, numbers) in keys.iter().zip(&self.numbers) {
            let mut sorted: Vec<(&String, &u16)> = numbers.iter().collect();
            sorted.sort_by_key(|(value, _)| (rank(key, value), *value));
            let mut places = vec![0; sorted.len()];
            for (place, (_, number)) in (0..).zip(&sorted) {
                places[usize::from(**number)] = place;
            }
            ordered.push(places);
            values.push(sorted.into_iter().map(|(value, _)| value.clone()).collect());
        }
        let renumbered = |(&(mut place), &counted): (&Place, &Counted)| {
            for (code, ordered) in place.values.iter_mut().zip(&ordered) {
                *code = ordered[usize::from(*code)];
            }
            (place, counted)
        };
        let mut cells: Vec<(Place, Counted)> = self.cells.iter().map(renumbered).collect();
        cells.sort_unstable_by_key(|cell| cell.0);
        (values, cells)
    }
}

/// Whether a fate is the counted outcome.
fn counts(outcome: Outcome, fate: Fate) -> bool {
    match outcome {
        Outcome::Lost => fate == Fate::Lost,
        Outcome::Traded => fate == Fate::Traded,
        Outcome::Sold => fate == Fate::Sold,
        Outcome::Captured => fate != Fate::Survived,
    }
}
