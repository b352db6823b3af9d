//! A claim counted for other terms than its own: at every k, for every horizon, phase and rating band,
//! attacked or not, defended or not. What a page needs to answer it for any of them, rung by rung.

mod chances;
mod counts;
mod packed;
mod terms;
mod twins;

use hobble_conditions::AskError;
use hobble_conditions::chosen::Chooses as _;
use hobble_conditions::terms::{MAX_K, YesNo};
use hobble_dataset::{Dataset, PartId};
use hobble_terms::Table;
use rayon::prelude::*;

use super::cells::{self, Cells};
use super::file::Claim;
use super::side;
use super::state::filters;
use super::turn::{self, Turn};
use chances::Chances;
use counts::AtK;
pub use terms::Terms;
use twins::{TwinRow, TwinSet};

/// A claim counted for all terms.
struct Turned {
    /// The claim's pieces, free ones and milder restraints at each k, from 0 on.
    counts: Vec<AtK>,
    /// Sets of twins, in the order of their parts and games.
    twins: Vec<TwinSet>,
    /// Turns at which such a piece could have been restrained.
    chances: Chances,
}

/// What is counted of parts.
#[derive(Default)]
struct OfPart {
    cells: Cells,
    twins: Vec<TwinSet>,
    chances: Chances,
}

/// What is counted of a run of turns.
#[derive(Default)]
struct OfRun {
    cells: Vec<cells::Row>,
    twins: Vec<TwinRow>,
}

/// The claim without the terms that are turned, at each k.
fn opened(claim: &Claim) -> Vec<Claim> {
    let at = |k| Claim {
        k,
        phase: Vec::new(),
        band: Vec::new(),
        attacked: YesNo::Any,
        defended: YesNo::Any,
        ..claim.clone()
    };
    (0..=MAX_K).map(at).collect()
}

/// Counts a claim for all terms.
///
/// # Errors
///
/// Where a table is missing, unreadable or inconsistent.
fn turned(dataset: &Dataset, claim: &Claim) -> Result<Turned, AskError> {
    let claims = opened(claim);
    let chosen = claim.chosen(dataset)?;
    let parts = chosen.part_ids(&[Table::Turns, Table::Decisions], &[])?;
    let counted = parts
        .par_iter()
        .map(|id| of_part(&claims, &chosen, id))
        .try_reduce(OfPart::default, |mut sum, other| {
            sum.cells.add(other.cells);
            sum.twins.extend(other.twins);
            sum.chances.add(other.chances);
            Ok(sum)
        })?;
    Ok(Turned {
        counts: counts::by_k(&counted.cells),
        twins: counted.twins,
        chances: counted.chances,
    })
}

fn of_part(claims: &[Claim], dataset: &Dataset, id: &PartId) -> Result<OfPart, AskError> {
    let sample = dataset.parameters().sample.get();
    let mut counted = OfPart::default();
    if let Some(part) = dataset.part(Table::Turns, id) {
        let claim = &claims[0];
        let (filters, measured) = (filters(claim), side::measured(claim));
        let counter = counts::Counter::new(claims, sample);
        let count = |turn: &Turn, run: &mut OfRun| {
            counter.count(turn, &mut run.cells);
            run.twins.extend(TwinRow::of(claims, turn));
        };
        let runs: Vec<OfRun> =
            turn::by_runs(&filters, &measured, &part, count)?.collect::<Result<_, _>>()?;
        let (cells, twins): (Vec<_>, Vec<_>) =
            runs.into_iter().map(|run| (run.cells, run.twins)).unzip();
        counted.cells = Cells::of_rows(cells);
        counted.twins = twins::sets(id, twins.concat());
        if let Some(games) = dataset.part(Table::Games, id) {
            twins::name_owners(&mut counted.twins, &games)?;
        }
    }
    if let Some(part) = dataset.part(Table::Decisions, id) {
        counted.chances = Chances::of(claims, &part)?;
    }
    Ok(counted)
}
