//! Free turns from the cube of exposure, counted for a claim.

use super::cells::Cells;
use super::choice::Choice;
use super::file::Claim;
use super::stratum::{Alike, Stratum, Words};
use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::filter::{self, Condition, Mask};
use hobble_conditions::terms::{CUBE_KEYS, Outcome};
use hobble_dataset::columns::{Numbers, Rows};
use hobble_dataset::part::{Group, Part};
use hobble_statistics::standardise::Cell;

/// What the cube counts at a horizon, as its columns are named.
const COUNTED: [&str; 4] = ["lost", "traded", "sold", "over"];

/// Counts the free turns of a row group, for each of some choices.
pub fn count(
    claim: &Claim,
    choices: &[Choice],
    part: &Part,
    group: Group,
) -> Result<Cells, AskError> {
    let mut within: Vec<u32> = choices.iter().map(|choice| choice.within).collect();
    within.sort_unstable();
    within.dedup();
    let names: Vec<[String; 4]> = within
        .iter()
        .map(|moves| COUNTED.map(|what| format!("{what}_{moves}")))
        .collect();
    let asked = claim.conditions(AskedRows::Exposure, &[]);
    let mut columns = filter::columns(&asked);
    columns.extend(CUBE_KEYS);
    columns.extend(names.iter().flatten().map(String::as_str));
    columns.sort_unstable();
    columns.dedup();
    let mut cells = Cells::default();
    for rows in part.read(&columns, group)? {
        let rows = rows?;
        let mut counts: Vec<[Numbers<'_>; 4]> = Vec::new();
        for [lost, traded, sold, over] in &names {
            let of = |name: &str| rows.numbers(name);
            counts.push([of(lost)?, of(traded)?, of(sold)?, of(over)?]);
        }
        let at_horizon: Vec<(Choice, &[Numbers<'_>; 4])> = choices
            .iter()
            .filter_map(|choice| {
                let at = within.binary_search(&choice.within).ok()?;
                Some((*choice, &counts[at]))
            })
            .collect();
        in_batch(&asked, &at_horizon, &rows, &mut cells)?;
    }
    Ok(cells)
}

fn in_batch(
    asked: &[Condition<'_>],
    choices: &[(Choice, &[Numbers<'_>; 4])],
    rows: &Rows,
    cells: &mut Cells,
) -> Result<(), AskError> {
    let mask = Mask::of(rows, asked)?;
    let words = Words::of(rows)?;
    let (developed, attacked) = (rows.booleans("developed")?, rows.booleans("attacked")?);
    let defended = rows.booleans("defended")?;
    let (safe, fold) = (rows.numbers("safe")?, rows.bytes("fold")?);
    let turns = rows.numbers("turns")?;
    for i in mask.rows() {
        let (kind, phase, time_class, band) = words.at(i)?;
        let stratum = Stratum::of(&Alike {
            kind,
            phase,
            time_class,
            band,
            developed: developed.value(i),
            attacked: attacked.value(i),
            defended: defended.value(i),
        });
        let cells = cells.at(stratum, fold[i], choices.len());
        for ((choice, counts), cell) in choices.iter().zip(cells) {
            if safe.at(i) <= u64::from(choice.k) {
                continue;
            }
            let [lost, traded, sold, over] = counts.each_ref().map(|column| column.at(i));
            *cell += Cell {
                turns: turns.at(i),
                outcomes: match choice.outcome {
                    Outcome::Lost => lost,
                    Outcome::Traded => traded,
                    Outcome::Sold => sold,
                    Outcome::Captured => lost + traded + sold,
                },
                over,
            };
        }
    }
    Ok(())
}
