//! What is counted for a claim: `part -> state` and `state + state`.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::by_fold::Folds;
use super::candidates::Candidates;
use super::cells::Cells;
use super::choice::{self, Choice};
use super::file::Claim;
use super::held::Held;
use super::score::{Restrainers, Scores};
use super::{curve, ends, free, held};
use hobble_conditions::AskError;
use hobble_conditions::sum::{self, State as _};
use hobble_dataset::{Dataset, Part, PartId};
use hobble_statistics::standardise::Cell;
use hobble_terms::Table;

/// Counts for a claim. Its size depends on the strata met, not on the number of games.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Held spells by stratum and fold, for each choice.
    pub held: Cells,
    /// Free turns by stratum and fold, for each choice.
    pub free: Cells,
    /// What became of the spells at the claim's own k and turns.
    pub folds: Folds,
    /// What the restrainer scored.
    pub scores: Scores,
    /// Spells that may be shown.
    pub candidates: Candidates,
}

impl State {
    /// Counts a part.
    pub fn of(claim: &Claim, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        let (spells, free) = rayon::join(
            || match dataset.part(Table::Spells, id) {
                Some(part) => State::of_spells(claim, &part),
                None => Ok(Default::default()),
            },
            || match dataset.part(Table::Exposure, id) {
                Some(part) => of_exposure(claim, &part),
                None => Ok(Cells::default()),
            },
        );
        let ((mut state, restrainers), free) = (spells?, free?);
        state.free = free;
        if let Some(games) = dataset.part(Table::Games, id) {
            state.scores = Scores::of(&games, &restrainers)?;
        }
        Ok(state)
    }

    fn of_spells(claim: &Claim, part: &Part) -> Result<(State, Restrainers), AskError> {
        let choices = choice::held(claim);
        part.groups()?
            .into_par_iter()
            .map(|group| {
                let spells = held::read(claim, part, group)?;
                let (mut state, mut restrainers) = (State::default(), Restrainers::default());
                for spell in &spells {
                    state.count(claim, &choices, spell);
                    if spell.is(claim.k, claim.turns) {
                        restrainers.note(spell);
                    }
                }
                state.candidates = Candidates::of(claim, part, group, &|_| true)?;
                Ok((state, restrainers))
            })
            .try_reduce(Default::default, |mut sum, (state, restrainers)| {
                sum.0.add(state);
                sum.1.add(restrainers);
                Ok(sum)
            })
    }

    fn count(&mut self, claim: &Claim, choices: &[Choice], spell: &Held) {
        let cells = self.held.at(spell.stratum, spell.fold, choices.len());
        for (choice, cell) in choices.iter().zip(cells) {
            if spell.is(choice.k, choice.turns) {
                *cell += Cell {
                    turns: 1,
                    outcomes: u64::from(spell.met(choice.turns, choice.within, choice.outcome)),
                    over: u64::from(spell.over(choice.turns, choice.within)),
                };
            }
        }
        if spell.is(claim.k, claim.turns) {
            let fold = self.folds.entry(spell.fold).or_default();
            fold.spells += 1;
            curve::count(&mut fold.reached, spell, claim.turns);
            fold.ends[spell.end as usize] += 1;
            for (sum, lost) in fold.material.iter_mut().zip(ends::losses(spell)) {
                *sum += u64::from(lost);
            }
        }
    }
}

impl sum::State for State {
    fn add(&mut self, other: State) {
        self.held.add(other.held);
        self.free.add(other.free);
        for (fold, counts) in &other.folds {
            self.folds.entry(*fold).or_default().add(counts);
        }
        self.scores.add(other.scores);
        self.candidates.add(other.candidates);
    }
}

fn of_exposure(claim: &Claim, part: &Part) -> Result<Cells, AskError> {
    let choices = choice::free(claim);
    part.groups()?
        .into_par_iter()
        .map(|group| free::count(claim, &choices, part, group))
        .try_reduce(Cells::default, |mut sum, cells| {
            sum.add(cells);
            Ok(sum)
        })
}
