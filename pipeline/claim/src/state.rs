//! What is counted for a claim: `part -> state` and `state + state`.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::by_fold::Folds;
use super::candidates::Candidates;
use super::cells::Cells;
use super::choice::{self, Event, Group};
use super::file::Claim;
use super::held::Held;
use super::score::{Restrainers, Scores};
use super::stratum::Stratum;
use super::turn::{self, Turn};
use super::twins::{self, Sets};
use super::{curve, ends, held};
use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::fields::Field as _;
use hobble_conditions::filter_keys as keys;
use hobble_conditions::sum::{self, State as _};
use hobble_dataset::{Dataset, Part, PartId};
use hobble_terms::Table;

/// Fields that choose among the claim's own pieces by k: each comparison asks its own.
const LEFT_OPEN: [&str; 3] = [
    keys::SafeSquares::NAME,
    keys::Turns::NAME,
    keys::Restrained::NAME,
];

/// Counts for a claim. Its size depends on the strata met and on the sets of twins that tell,
/// a few in a thousand games.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// The claim's pieces and free ones, by group, stratum and fold.
    pub cells: Cells,
    /// Twins: one of the claim's pieces and a free one in one position.
    pub twins: Sets,
    /// What became of the spells.
    pub folds: Folds,
    /// What the restrainer scored.
    pub scores: Scores,
    /// Spells that may be shown.
    pub candidates: Candidates,
}

impl State {
    /// Counts a part.
    pub fn of(claim: &Claim, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        let sample = u64::from(dataset.parameters().sample.get());
        let (spells, turns) = rayon::join(
            || match dataset.part(Table::Spells, id) {
                Some(part) => State::of_spells(claim, &part),
                None => Ok(Default::default()),
            },
            || match dataset.part(Table::Turns, id) {
                Some(part) => of_turns(claim, &part, sample),
                None => Ok(Default::default()),
            },
        );
        let ((mut state, restrainers), (cells, rows)) = (spells?, turns?);
        state.cells = cells;
        state.twins = Sets::of(id, rows);
        if let Some(games) = dataset.part(Table::Games, id) {
            state.scores = Scores::of(&games, &restrainers)?;
        }
        Ok(state)
    }

    fn of_spells(claim: &Claim, part: &Part) -> Result<(State, Restrainers), AskError> {
        part.groups()?
            .into_par_iter()
            .map(|group| {
                let spells = held::read(claim, part, group)?;
                let (mut state, mut restrainers) = (State::default(), Restrainers::default());
                for spell in &spells {
                    state.count(claim, spell);
                    restrainers.note(spell);
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

    fn count(&mut self, claim: &Claim, spell: &Held) {
        let fold = self.folds.entry(spell.fold).or_default();
        fold.spells += 1;
        curve::count(&mut fold.reached, spell, claim.turns);
        fold.ends[spell.end as usize] += 1;
        for (sum, lost) in fold.material.iter_mut().zip(ends::losses(spell)) {
            *sum += u64::from(lost);
        }
    }
}

impl sum::State for State {
    fn add(&mut self, other: State) {
        self.cells.add(other.cells);
        self.twins.add(other.twins);
        for (fold, counts) in &other.folds {
            self.folds.entry(*fold).or_default().add(counts);
        }
        self.scores.add(other.scores);
        self.candidates.add(other.candidates);
    }
}

/// Counts the turns of a part; and the rows that may be twins.
fn of_turns(claim: &Claim, part: &Part, sample: u64) -> Result<(Cells, Vec<twins::Row>), AskError> {
    let (own_rows, free_rows) = if claim.is_of_restrained() {
        (AskedRows::RestrainedTurns, AskedRows::FreeBesideRestrained)
    } else {
        (AskedRows::HeldTurns, AskedRows::FreeBesideHeld)
    };
    let own = claim.conditions(own_rows, &LEFT_OPEN);
    let free = claim.conditions(free_rows, &[]);
    let counter = Counter::new(claim, sample);
    part.groups()?
        .into_par_iter()
        .map(|group| {
            let (mut cells, mut rows) = (Cells::default(), Vec::new());
            turn::for_each((&own, &free), part, group, |turn| {
                rows.extend(counter.count(turn, &mut cells));
            })?;
            Ok((cells, rows))
        })
        .try_reduce(Default::default, |mut sum, (cells, rows)| {
            sum.0.add(cells);
            sum.1.extend(rows);
            Ok(sum)
        })
}

/// What is counted of each turn.
struct Counter<'a> {
    claim: &'a Claim,
    sample: u64,
    groups: Vec<Group>,
    events: Vec<Event>,
    /// The claim's own pieces.
    own: Group,
}

impl Counter<'_> {
    fn new(claim: &Claim, sample: u64) -> Counter<'_> {
        Counter {
            claim,
            sample,
            groups: choice::groups(claim),
            events: choice::events(claim),
            own: Group::Own {
                k: claim.k,
                turns: claim.turns,
            },
        }
    }

    /// Counts a turn in each group it is in; gives its row among the twins, if it has one.
    fn count(&self, turn: &Turn, cells: &mut Cells) -> Option<twins::Row> {
        let weight = if turn.landmark { 1 } else { self.sample };
        let stratum = Stratum::of(turn, self.claim.k);
        let mut came = [false; 16];
        for (came, event) in came.iter_mut().zip(&self.events) {
            *came = event.came(turn);
        }
        let came = &came[..self.events.len()];
        let (mut own, mut free) = (false, false);
        for (number, group) in (0..).zip(&self.groups) {
            if !group.has(self.claim, turn) {
                continue;
            }
            cells.add_row((number, stratum, turn.fold), weight, came);
            own |= *group == self.own;
            free |= matches!(*group, Group::FreeUpTo(k) if k >= self.claim.k);
        }
        twins::row(self.claim, turn, own, free)
    }
}
