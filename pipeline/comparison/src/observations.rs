//! Rows of `turns` for a question: counted by group, stratum, fold and side.

use std::ops::AddAssign;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::keys;
use crate::places::{self, Places};
use crate::question::Question;
use crate::runs::Runs;
use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::filter::{self, Condition, Mask};
use hobble_conditions::terms::{Key, Outcome};
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
    places: Places,
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
            places: Places::of(&counted_by(question), question.k, question.band_width),
            restrained: format!("restrained_{}", question.k),
            own: question.conditions(own, &[]),
            free: question.conditions(free, &[]),
            sample,
        }
    }

    fn columns(&self) -> Vec<&str> {
        let mut names: Vec<&str> = filter::columns(&self.own);
        names.extend(filter::columns(&self.free));
        names.extend(
            counted_by(self.question)
                .iter()
                .map(|&key| keys::column(key)),
        );
        names.extend(["fold", "ply", "landmark", "safe", "safe_last"]);
        names.extend(["attacked_last", "fate", "fate_ply", "plies_left"]);
        names.push(&self.restrained);
        names.sort_unstable();
        names.dedup();
        names
    }

    /// The cells of sorted rows.
    fn run(&self, rows: &[u64]) -> Vec<Placed> {
        let place = |row| row >> Seen::BITS;
        let cells = rows.chunk_by(|&one, &other| place(one) == place(other));
        let counted = |rows: &[u64]| {
            let mut sum = Counted::default();
            for seen in rows.iter().map(|&row| Seen::of(row)) {
                let one = Cell {
                    turns: 1,
                    outcomes: seen.met.into(),
                    over: seen.over.into(),
                };
                let weight = if seen.landmark { 1 } else { self.sample };
                sum += Counted::weighing(one, weight);
            }
            (place(rows[0]), sum)
        };
        cells.map(counted).collect()
    }
}

/// Counts a part of `turns`, which has rating bands of the question's width; `sample` is how many turns
/// one of the sample stands for.
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

/// A cell: its place, see [`Places`], and what was counted there.
type Placed = (u64, Counted);

/// Counts by key values, fold and side.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Counts(Runs<Counted>);

impl Counts {
    fn in_batch(&mut self, asked: &Asked<'_>, rows: &Rows) -> Result<(), AskError> {
        let question = asked.question;
        let sides = [Mask::of(rows, &asked.own)?, Mask::of(rows, &asked.free)?];
        let mut places = asked.places.of_rows(rows)?;
        let plies = rows.pairs("ply")?;
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
        let mut counted = 0;
        for row in 0..rows.len() {
            let own = sides[0].passes(row) && is_own(row);
            let free = !own && sides[1].passes(row) && is_free(row);
            if !own && !free {
                continue;
            }
            let invalid = || rows.bad(format!("row {}: invalid fate", rows.place(row)));
            let fate = fate.at(row).ok_or_else(invalid)?;
            let in_time = |ply: u64| ply.saturating_sub(plies[row].into()) <= horizon;
            let seen = Seen {
                landmark: landmark.value(row),
                met: counts(question.outcome, fate) && fate_ply.get(row).is_some_and(in_time),
                over: fate == Fate::Survived && u64::from(plies_left[row]) < horizon,
            };
            places[counted] = seen.at(places::on_side(places[row], own));
            counted += 1;
        }
        places.truncate(counted);
        places.sort_unstable();
        self.0.push(asked.run(&places));
        Ok(())
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: Counts) {
        self.0.add(other.0);
    }

    /// Groups and strata of a question, with their counts.
    pub fn groups(&self, question: &Question) -> Groups {
        let cells = self.0.cells();
        let places = Places::of(&counted_by(question), question.k, question.band_width);
        let mask = places.mask(&question.strata);
        let mut strata: Vec<u64> = cells.iter().map(|(place, _)| place & mask).collect();
        strata.sort_unstable();
        strata.dedup();
        let mut last = None;
        let mut stratum = 0;
        let observed = |&(place, counted): &Placed| {
            let wanted = place & mask;
            if last.replace(wanted) != Some(wanted) {
                stratum = strata.partition_point(|&other| other < wanted);
            }
            Observed {
                stratum,
                fold: places::fold(place),
                restricted: places::restricted(place),
                counted,
            }
        };
        let all: Vec<Observed> = cells.iter().map(observed).collect();
        // The keys of groups are the highest in a place: the cells of a group stand together.
        let mask = places.mask(&question.group_by);
        let mut rest = all.as_slice();
        let groups = cells.chunk_by(|(one, _), (other, _)| one & mask == other & mask);
        let groups: Vec<(u64, &[Observed])> = groups
            .map(|cells| {
                let (of_group, behind) = rest.split_at(cells.len());
                rest = behind;
                (cells[0].0, of_group)
            })
            .collect();
        let named = |place| -> Vec<String> {
            let values = question.group_by.iter();
            let values = values.filter_map(|&key| places.value(place, key));
            values.map(str::to_owned).collect()
        };
        let tables = |(place, cells): (u64, &[Observed])| (named(place), Tables::of(cells));
        let (groups, all) = rayon::join(
            || groups.into_par_iter().map(tables).collect(),
            || Tables::of(&all),
        );
        Groups { groups, all }
    }
}

/// What a row says of its outcome, written behind its place.
#[derive(Debug, Clone, Copy)]
struct Seen {
    /// Whether it stands for itself alone, and not for turns left out of the sample.
    landmark: bool,
    met: bool,
    over: bool,
}

impl Seen {
    const BITS: u32 = 3;

    fn at(self, place: u64) -> u64 {
        let Seen {
            landmark,
            met,
            over,
        } = self;
        place << Seen::BITS | u64::from(landmark) << 2 | u64::from(met) << 1 | u64::from(over)
    }

    fn of(row: u64) -> Seen {
        Seen {
            landmark: row & 4 != 0,
            met: row & 2 != 0,
            over: row & 1 != 0,
        }
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
