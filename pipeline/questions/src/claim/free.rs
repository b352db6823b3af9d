//! Free turns from the cube of exposure, in the strata that a claim's spells are in.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::file::Claim;
use super::stratum::{Alike, Stratum, Words};
use crate::error::AskError;
use crate::filter::Mask;
use crate::terms::{Outcome, WITHIN};
use hobble_dataset::Dataset;
use hobble_dataset::columns::Rows;
use hobble_dataset::part;

/// One row of the cube.
#[derive(Debug, Clone)]
pub struct Free {
    /// Number of the stratum.
    pub stratum: usize,
    pub fold: u32,
    pub safe: u64,
    pub turns: u64,
    /// By horizon, in the order of [`WITHIN`]: lost, traded, sold, over.
    pub counts: [[u64; 4]; 5],
}

impl Free {
    /// Outcomes and games over within one of the horizons.
    pub fn met(&self, horizon: usize, outcome: Outcome) -> (u64, u64) {
        let [lost, traded, sold, over] = self.counts[horizon];
        let met = match outcome {
            Outcome::Lost => lost,
            Outcome::Traded => traded,
            Outcome::Sold => sold,
            Outcome::Captured => lost + traded + sold,
        };
        (met, over)
    }
}

/// Reads the cube; rows outside the numbered strata are left out.
pub fn read(
    claim: &Claim,
    dataset: &Dataset,
    strata: &BTreeMap<Stratum, usize>,
) -> Result<Vec<Free>, AskError> {
    let names: Vec<[String; 4]> = WITHIN
        .iter()
        .map(|n| ["lost", "traded", "sold", "over"].map(|what| format!("{what}_{n}")))
        .collect();
    let mut columns = vec![
        "kind",
        "safe",
        "developed",
        "attacked",
        "defended",
        "phase",
        "band",
        "time_class",
        "fold",
        "turns",
    ];
    columns.extend(names.iter().flatten().map(String::as_str));
    let parts = dataset.parts("exposure")?;
    let found: Vec<Vec<Free>> = part::groups(&parts)?
        .into_par_iter()
        .map(|(number, group)| {
            let mut out = Vec::new();
            for rows in parts[number].read(&columns, group)? {
                in_batch(claim, &names, strata, &rows?, &mut out)?;
            }
            Ok(out)
        })
        .collect::<Result<_, AskError>>()?;
    Ok(found.into_iter().flatten().collect())
}

fn in_batch(
    claim: &Claim,
    names: &[[String; 4]],
    strata: &BTreeMap<Stratum, usize>,
    rows: &Rows,
    out: &mut Vec<Free>,
) -> Result<(), AskError> {
    let mut mask = Mask::all(rows);
    mask.any_of(rows, "kind", claim.kinds.iter().map(|kind| kind.name()))?;
    let words = Words::of(rows)?;
    let (developed, attacked) = (rows.booleans("developed")?, rows.booleans("attacked")?);
    let defended = rows.booleans("defended")?;
    let (safe, fold) = (rows.numbers("safe")?, rows.bytes("fold")?);
    let turns = rows.numbers("turns")?;
    let mut counts = Vec::new();
    for name in names.iter().flatten() {
        counts.push(rows.numbers(name)?);
    }
    for i in mask.rows() {
        let Some((kind, phase, time_class, band)) = words.at(i) else {
            let what = "a row names a kind, phase, band or time class that is none";
            return Err(rows.bad(what.to_owned()).into());
        };
        let stratum = Stratum::of(&Alike {
            kind,
            phase,
            time_class,
            band,
            developed: developed.value(i),
            attacked: attacked.value(i),
            defended: defended.value(i),
        });
        let Some(&stratum) = strata.get(&stratum) else {
            continue;
        };
        let mut by_horizon = [[0; 4]; 5];
        for (place, column) in by_horizon.iter_mut().flatten().zip(&counts) {
            *place = column.at(i);
        }
        out.push(Free {
            stratum,
            fold: fold[i].into(),
            safe: safe.at(i),
            turns: turns.at(i),
            counts: by_horizon,
        });
    }
    Ok(())
}
