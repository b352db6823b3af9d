//! Held spells against comparable free turns, at the horizons of the cube, and how the
//! comparison changes with what the claim left to choice.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::answer::Compared;
use super::file::Claim;
use super::free::Free;
use super::held::Held;
use super::stratum::Stratum;
use crate::few::Nouns;
use crate::terms::{MAX_K, Outcome, WITHIN};
use hobble_statistics::LEVEL;
use hobble_statistics::few::Least;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::{self, Cell, Figures, Table};

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

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    pub k: u8,
    pub turns: u32,
    pub within: u32,
    pub outcome: Outcome,
}

impl Choice {
    pub fn of(claim: &Claim) -> Choice {
        Choice {
            k: claim.k,
            turns: claim.turns,
            within: claim.within,
            outcome: claim.outcome,
        }
    }
}

/// Numbers of the strata that hold spells, in a fixed order.
pub fn strata(held: &[Held]) -> BTreeMap<Stratum, usize> {
    let mut strata: BTreeMap<Stratum, usize> =
        held.iter().map(|spell| (spell.stratum, 0)).collect();
    for (number, place) in strata.values_mut().enumerate() {
        *place = number;
    }
    strata
}

/// The comparison at every horizon.
pub fn by_horizon(
    claim: &Claim,
    held: &[Held],
    free: &[Free],
    strata: &BTreeMap<Stratum, usize>,
) -> Vec<Compared> {
    let choices: Vec<Choice> = WITHIN
        .iter()
        .map(|&within| Choice {
            within,
            ..Choice::of(claim)
        })
        .collect();
    all(&choices, held, free, strata)
}

/// The comparison with one choice changed at a time: k, turns, outcome.
pub fn sensitivity(
    claim: &Claim,
    held: &[Held],
    free: &[Free],
    strata: &BTreeMap<Stratum, usize>,
) -> Vec<Compared> {
    let own = Choice::of(claim);
    let mut choices = Vec::new();
    choices.extend((0..=MAX_K).map(|k| Choice { k, ..own }));
    choices.extend((1..=5).map(|turns| Choice { turns, ..own }));
    choices.extend([Outcome::Lost, Outcome::Captured].map(|outcome| Choice { outcome, ..own }));
    all(&choices, held, free, strata)
}

fn all(
    choices: &[Choice],
    held: &[Held],
    free: &[Free],
    strata: &BTreeMap<Stratum, usize>,
) -> Vec<Compared> {
    let numbers: Vec<usize> = held
        .iter()
        .map(|spell| strata.get(&spell.stratum).copied().unwrap_or(0))
        .collect();
    choices
        .par_iter()
        .map(|&choice| compare(choice, held, &numbers, free))
        .collect()
}

/// Counts by stratum and fold, which is a byte in the tables.
struct Cells(Vec<[Cell; 256]>);

impl Cells {
    fn add(&mut self, stratum: usize, fold: u32, cell: Cell) {
        if self.0.len() <= stratum {
            self.0.resize(stratum + 1, [Cell::default(); 256]);
        }
        self.0[stratum][fold as usize & 255] += cell;
    }

    fn has(&self, stratum: usize) -> bool {
        let cells = self.0.get(stratum).into_iter().flatten();
        cells.into_iter().any(|cell| cell.turns > 0)
    }

    fn put(&self, table: &mut Table, held: bool) {
        for (stratum, folds) in self.0.iter().enumerate() {
            for (fold, &cell) in (0..).zip(folds) {
                if cell.turns > 0 {
                    table.add(stratum, fold, held, cell);
                }
            }
        }
    }
}

fn compare(choice: Choice, held: &[Held], numbers: &[usize], free: &[Free]) -> Compared {
    let mut cells = Cells(Vec::new());
    for (spell, &stratum) in held.iter().zip(numbers) {
        if spell.is(choice.k, choice.turns) {
            let cell = Cell {
                turns: 1,
                outcomes: u64::from(spell.met(choice.turns, choice.within, choice.outcome)),
                over: u64::from(spell.over(choice.turns, choice.within)),
            };
            cells.add(stratum, spell.fold, cell);
        }
    }
    let mut table = Table::default();
    cells.put(&mut table, true);
    // Free turns of strata without such a spell say nothing here.
    let with_held: Vec<bool> = (0..cells.0.len()).map(|number| cells.has(number)).collect();
    let horizon = WITHIN.iter().position(|&n| n == choice.within).unwrap_or(0);
    let mut cells = Cells(Vec::new());
    for row in free {
        if row.safe > u64::from(choice.k) && with_held.get(row.stratum) == Some(&true) {
            let (outcomes, over) = row.met(horizon, choice.outcome);
            let cell = Cell {
                turns: row.turns,
                outcomes,
                over,
            };
            cells.add(row.stratum, row.fold, cell);
        }
    }
    cells.put(&mut table, false);
    figures(choice, &table)
}

fn figures(choice: Choice, table: &Table) -> Compared {
    let figures = table.figures();
    let (held, free) = table.spread(true);
    let without_one = table.figures_without_one(|_| true);
    let few = LEAST.check(&figures, held, free);
    let whole = (&figures, without_one.as_slice());
    let estimate =
        |scale, of, folds| standardise::estimate(scale, of, whole, folds, LEVEL, few.is_none());
    let both = held.folds.min(free.folds);
    Compared {
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
        too_few: few.map(|few| NOUNS.sentence(few)),
        few,
    }
}
