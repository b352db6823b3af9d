//! Held spells against comparable free turns, at the horizons of the cube, and how the
//! comparison changes with what the claim left to choice.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::answer::{Compared, Varied};
use super::cells::Cells;
use super::choice::{self, Choice};
use super::file::Claim;
use super::stratum::Stratum;
use hobble_report::few::Nouns;
use hobble_statistics::LEVEL;
use hobble_statistics::few::Least;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::{self, Figures, Table};

/// The least that an interval asks for.
pub const LEAST: Least = Least {
    trials: 20,
    folds: 5,
    outcome_folds: 5,
};

/// What a claim's comparison calls its trials and outcomes.
pub const NOUNS: Nouns<'static> = Nouns {
    nothing: "no piece was held so",
    own: "held spell",
    other: "comparable free turn",
    incomparable: "has a comparable free turn",
    outcome: " with the outcome",
};

/// The comparison for some choices, from the counts of held spells and free turns.
pub fn compare(
    claim: &Claim,
    choices: &[(Varied, Choice)],
    held: &Cells,
    free: &Cells,
) -> Vec<Compared> {
    let (of_held, of_free) = (choice::held(claim), choice::free(claim));
    choices
        .par_iter()
        .filter_map(|&(varied, choice)| {
            let held_at = of_held.iter().position(|other| *other == choice)?;
            let free_at = of_free.iter().position(|other| *other == choice.free())?;
            let table = table(held, held_at, free, free_at);
            Some(figures(varied, choice, &table))
        })
        .collect()
}

/// The counts of one choice. Free turns of strata without such a spell say nothing there and
/// are left out. Strata are numbered in their order, so that sums come out the same to the
/// last bit.
fn table(held: &Cells, held_at: usize, free: &Cells, free_at: usize) -> Table {
    let mut strata: BTreeMap<Stratum, usize> =
        held.of(held_at).map(|(stratum, ..)| (stratum, 0)).collect();
    for (number, place) in strata.values_mut().enumerate() {
        *place = number;
    }
    let mut table = Table::default();
    for (is_held, cells, at) in [(true, held, held_at), (false, free, free_at)] {
        for (stratum, fold, cell) in cells.of(at) {
            if let Some(&number) = strata.get(&stratum) {
                table.add(number, fold.into(), is_held, cell);
            }
        }
    }
    table
}

fn figures(varied: Varied, choice: Choice, table: &Table) -> Compared {
    let figures = table.figures();
    let (held, free) = table.spread(true);
    let without_one = table.figures_without_one(|_| true);
    let few = LEAST.check(&figures, held, free);
    let whole = (&figures, without_one.as_slice());
    let estimate =
        |scale, of, folds| standardise::estimate(scale, of, whole, folds, LEVEL, few.is_none());
    let both = held.folds.min(free.folds);
    Compared {
        varied,
        k: choice.k,
        turns: choice.turns,
        within: choice.within,
        outcome: choice.outcome,
        held: figures.raw.held.turns,
        held_outcomes: figures.raw.held.outcomes,
        held_over: figures.raw.held.over,
        compared_held: figures.compared.held.turns,
        compared_held_outcomes: figures.compared.held.outcomes,
        compared_free: figures.compared.free.turns,
        compared_free_outcomes: figures.compared.free.outcomes,
        strata: figures.strata,
        strata_left_out: figures.strata_left_out,
        held_rate: estimate(Scale::Logit, Figures::held_rate, held.folds),
        free_rate: estimate(Scale::Logit, Figures::free_rate, both),
        ratio: estimate(Scale::Log, Figures::ratio, both),
        difference: estimate(Scale::Plain, Figures::difference, both),
        too_few: few.map(|few| NOUNS.lack(few)),
    }
}
