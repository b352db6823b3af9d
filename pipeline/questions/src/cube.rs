//! Reads the exposure cube for a question: counts by group, stratum, fold and side.

use std::collections::{BTreeMap, HashMap};

use polars::prelude::DataFrame;

use crate::columns::Rows;
use crate::dataset::Dataset;
use crate::error::AskError;
use crate::filter;
use crate::question::Question;
use crate::statistics::standardise::{Cell, Table};
use crate::terms::{Key, Kind, Outcome, Phase, RatingDiff, TimeClass};

/// The counts of a question.
#[derive(Debug, Clone)]
pub struct Cube {
    /// One entry a group, sorted: the values of the question's `group_by`, and its counts.
    pub groups: Vec<(Vec<String>, Table)>,
    /// All groups together.
    pub all: Table,
}

/// Reads the cube.
///
/// # Errors
///
/// Where the table is missing, unreadable or not of its schema.
pub fn read(question: &Question, dataset: &Dataset) -> Result<Cube, AskError> {
    let mut keys: Vec<Key> = question.group_by.clone();
    for &key in &question.strata {
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    let within = question.within;
    let counted: Vec<String> = match question.outcome {
        Outcome::Captured => ["lost", "traded", "sold"]
            .map(|outcome| format!("{outcome}_{within}"))
            .to_vec(),
        one => vec![format!("{one}_{within}")],
    };
    let over = format!("over_{within}");

    let mut columns = filter::columns(question);
    columns.extend(keys.iter().map(|key| key.word()));
    if question.attacked.wanted().is_some() {
        columns.push("attacked");
    }
    columns.extend(["safe", "fold", "turns", &over]);
    columns.extend(counted.iter().map(String::as_str));
    columns.sort_unstable();
    columns.dedup();

    let mut gathered = Gathered::new(question, &keys);
    for part in dataset.parts("exposure")? {
        let mut frame = part.read(&columns, None)?;
        let rows = Rows::new(part.table, &frame);
        let mut mask = filter::mask(question, &rows)?;
        if let Some(wanted) = question.attacked.wanted() {
            filter::both(&mut mask, rows.is("attacked", wanted)?);
        }
        if let Some(mask) = mask {
            frame = rows.filter(&mask)?;
        }
        gathered.add(&Rows::new(part.table, &frame), &frame, &counted, &over)?;
    }
    Ok(gathered.finish())
}

/// Counts being added up. Key values are numbered as they come.
struct Gathered<'a> {
    question: &'a Question,
    keys: &'a [Key],
    /// By key: numbers of its values.
    numbers: Vec<HashMap<String, u32>>,
    /// By key values, fold and side.
    cells: HashMap<Vec<u32>, Cell>,
}

impl<'a> Gathered<'a> {
    fn new(question: &'a Question, keys: &'a [Key]) -> Self {
        Gathered {
            question,
            keys,
            numbers: vec![HashMap::new(); keys.len()],
            cells: HashMap::new(),
        }
    }

    fn add(
        &mut self,
        rows: &Rows<'_>,
        frame: &DataFrame,
        counted: &[String],
        over: &str,
    ) -> Result<(), AskError> {
        let mut codes: Vec<Vec<u32>> = Vec::new();
        for (key, numbers) in self.keys.iter().zip(&mut self.numbers) {
            codes.push(number(rows, *key, numbers)?);
        }
        let folds = rows.numbers("fold")?;
        let safe = rows.numbers("safe")?;
        let turns = rows.numbers("turns")?;
        let over = rows.numbers(over)?;
        let mut outcomes = vec![0; frame.height()];
        for column in counted {
            for (sum, count) in outcomes.iter_mut().zip(rows.numbers(column)?) {
                *sum += count;
            }
        }
        let mut place = Vec::with_capacity(self.keys.len() + 2);
        for row in 0..frame.height() {
            let cell = Cell {
                turns: turns[row],
                outcomes: outcomes[row],
                over: over[row],
            };
            if cell.outcomes.saturating_add(cell.over) > cell.turns {
                return Err(rows.bad(format!(
                    "a row counts {} outcomes and {} games over in {} turns",
                    cell.outcomes, cell.over, cell.turns
                )));
            }
            place.clear();
            place.extend(codes.iter().map(|codes| codes[row]));
            place.push(u32::try_from(folds[row]).unwrap_or(u32::MAX));
            place.push(u32::from(safe[row] <= u64::from(self.question.k)));
            match self.cells.get_mut(place.as_slice()) {
                Some(sum) => *sum += cell,
                None => {
                    self.cells.insert(place.clone(), cell);
                }
            }
        }
        Ok(())
    }

    fn finish(self) -> Cube {
        // Values are put into a reader's order, and everything below runs in that order, so
        // that sums come out the same to the last bit whatever order the rows arrive in.
        let mut values: Vec<Vec<String>> = Vec::new();
        let mut ordered: Vec<Vec<u32>> = Vec::new();
        for (&key, numbers) in self.keys.iter().zip(self.numbers) {
            let mut sorted: Vec<(String, u32)> = numbers.into_iter().collect();
            sorted.sort_by(|a, b| (rank(key, &a.0), &a.0).cmp(&(rank(key, &b.0), &b.0)));
            let mut places = vec![0; sorted.len()];
            for (place, (_, number)) in (0..).zip(&sorted) {
                places[*number as usize] = place;
            }
            ordered.push(places);
            values.push(sorted.into_iter().map(|(value, _)| value).collect());
        }
        let width = self.keys.len();
        let mut cells: Vec<(Vec<u32>, Cell)> = self
            .cells
            .into_iter()
            .map(|(mut place, cell)| {
                for (code, ordered) in place.iter_mut().zip(&ordered) {
                    *code = ordered[*code as usize];
                }
                (place, cell)
            })
            .collect();
        cells.sort_unstable_by(|a, b| a.0.cmp(&b.0));

        let at = |key: &Key| self.keys.iter().position(|other| other == key);
        let group_at: Vec<usize> = self.question.group_by.iter().filter_map(at).collect();
        let strata_at: Vec<usize> = self.question.strata.iter().filter_map(at).collect();
        let pick =
            |at: &[usize], place: &[u32]| -> Vec<u32> { at.iter().map(|&i| place[i]).collect() };

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
            let (fold, held) = (place[width], place[width + 1] == 1);
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
}

/// The values of a key column as numbers, new values numbered on.
fn number(
    rows: &Rows<'_>,
    key: Key,
    numbers: &mut HashMap<String, u32>,
) -> Result<Vec<u32>, AskError> {
    let mut of = |value: &str| match numbers.get(value) {
        Some(&number) => number,
        None => {
            let next = numbers.len() as u32;
            numbers.insert(value.to_owned(), next);
            next
        }
    };
    if key.is_boolean() {
        let values = rows.booleans(key.word())?;
        return Ok(values
            .into_iter()
            .map(|value| of(if value { "yes" } else { "no" }))
            .collect());
    }
    rows.texts(key.word())?
        .iter()
        .map(|value| match value {
            Some(value) => Ok(of(value)),
            None => Err(rows.bad(format!("column \"{key}\" holds a null"))),
        })
        .collect()
}

/// Where a value stands among the others of its key, for a reader: words in the order of
/// their list, bands by their lower bound with `unrated` and `missing` last.
pub(crate) fn rank(key: Key, value: &str) -> u32 {
    let place = match key {
        Key::Kind => Kind::from_word(value).map(|member| member as u32),
        Key::Phase => Phase::from_word(value).map(|member| member as u32),
        Key::TimeClass => TimeClass::from_word(value).map(|member| member as u32),
        Key::RatingDiff => RatingDiff::from_word(value).map(|member| member as u32),
        Key::Band => match value {
            "unrated" => Some(u32::MAX - 2),
            "missing" => Some(u32::MAX - 1),
            bounds => bounds.split('-').next().and_then(|low| low.parse().ok()),
        },
        Key::Attacked | Key::Defended | Key::Developed => None,
    };
    place.unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_in_the_order_of_a_reader() {
        let order = |key, mut values: Vec<&'static str>| {
            values.sort_by_key(|value| (rank(key, value), *value));
            values
        };
        assert_eq!(
            order(
                Key::Band,
                vec!["missing", "1000-1199", "unrated", "800-999"]
            ),
            ["800-999", "1000-1199", "unrated", "missing"]
        );
        assert_eq!(
            order(Key::Kind, vec!["queen", "bishop", "knight"]),
            ["knight", "bishop", "queen"]
        );
        assert_eq!(
            order(Key::RatingDiff, vec![">=200", "unknown", "<=-200"]),
            ["<=-200", ">=200", "unknown"]
        );
    }
}
