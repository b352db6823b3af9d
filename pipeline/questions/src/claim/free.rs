//! Free turns from the cube of exposure, in the strata that a claim's spells are in.

use std::collections::BTreeMap;

use super::file::Claim;
use super::stratum::{Stratum, Words};
use crate::columns::Rows;
use crate::dataset::Dataset;
use crate::error::AskError;
use crate::terms::{Kind, Outcome, WITHIN};

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
    let mut out = Vec::new();
    for part in dataset.parts("exposure")? {
        let frame = part.read(&columns, None)?;
        let all = Rows::new(part.table, &frame);
        let frame =
            all.filter(&all.any_of("kind", claim.kinds.iter().map(|k: &Kind| k.word()))?)?;
        let rows = Rows::new(part.table, &frame);
        let (kind, phase) = (rows.texts("kind")?, rows.texts("phase")?);
        let (band, class) = (rows.texts("band")?, rows.texts("time_class")?);
        let (developed, attacked) = (rows.booleans("developed")?, rows.booleans("attacked")?);
        let defended = rows.booleans("defended")?;
        let (safe, fold) = (rows.numbers("safe")?, rows.numbers("fold")?);
        let turns = rows.numbers("turns")?;
        let mut counts: Vec<Vec<u64>> = Vec::new();
        for name in names.iter().flatten() {
            counts.push(rows.numbers(name)?);
        }
        for i in 0..frame.height() {
            let stratum = Stratum::of(&Words {
                kind: kind.get(i).unwrap_or_default(),
                phase: phase.get(i).unwrap_or_default(),
                time_class: class.get(i).unwrap_or_default(),
                band: band.get(i).unwrap_or_default(),
                developed: developed[i],
                attacked: attacked[i],
                defended: defended[i],
            })
            .ok_or_else(|| {
                rows.bad("a row names a kind, phase, band or time class that is none".to_owned())
            })?;
            let Some(&stratum) = strata.get(&stratum) else {
                continue;
            };
            let mut by_horizon = [[0; 4]; 5];
            for (place, column) in by_horizon.iter_mut().flatten().zip(&counts) {
                *place = column[i];
            }
            out.push(Free {
                stratum,
                fold: u32::try_from(fold[i])
                    .map_err(|_| rows.bad("column \"fold\" is out of range".to_owned()))?,
                safe: safe[i],
                turns: turns[i],
                counts: by_horizon,
            });
        }
    }
    Ok(out)
}
