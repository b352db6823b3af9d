//! What is counted for a claim: `part -> state` and `state + state`.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::by_fold::Folds;
use super::by_turn::ByTurn;
use super::candidates::Candidates;
use super::cells::{self, Cells, Tally};
use super::choice::{self, Event, Group, Varied};
use super::decision_rows::Chances;
use super::file::Claim;
use super::held::Held;
use super::outcome::{ClaimOutcome, MEASURED};
use super::score::{Restrainers, Scores};
use super::side;
use super::stratum::{Matched, Stratum};
use super::turn::{self, Turn};
use super::twins::{self, Sets};
use super::{curve, decision, ends, guards, held};
use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::fields::Field as _;
use hobble_conditions::filter::Condition;
use hobble_conditions::filter_keys as keys;
use hobble_conditions::sum::{self, State as _};
use hobble_dataset::{Dataset, Part, PartId};
use hobble_examples::KeptGames;
use hobble_terms::Table;

/// Fields that choose among the claim's own pieces by k: each comparison asks its own.
const LEFT_OPEN: [&str; 3] = [
    keys::SafeSquares::NAME,
    keys::Turns::NAME,
    keys::Restrained::NAME,
];

/// Counts for a claim. Its size depends on the strata met and on the sets of twins that count,
/// a few in a thousand games.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// The claim's pieces and free ones, by group, stratum and fold.
    pub cells: Cells,
    /// What became of the sides of these pieces, by group, stratum and fold.
    pub side: Cells,
    /// Twins: one of the claim's pieces and a free one in one position.
    pub twins: Sets,
    /// Turns at which such a piece could have been restrained.
    pub chances: Chances,
    /// What became of the spells.
    pub folds: Folds,
    /// The risk turn by turn.
    pub by_turn: ByTurn,
    /// What the restrainer scored.
    pub scores: Scores,
    /// Spells that may be shown.
    pub candidates: Candidates,
    /// Their games, in a state that is written.
    pub games: KeptGames,
}

impl State {
    /// Counts a part.
    pub fn of(claim: &Claim, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        let sample = dataset.parameters().sample.get();
        let games = dataset.part(Table::Games, id);
        let decisions = dataset.part(Table::Decisions, id);
        let asked = decisions.filter(|_| decision::unmeasured(claim, true).is_none());
        let spells = || match dataset.part(Table::Spells, id) {
            Some(part) => {
                let (mut state, restrainers) = State::of_spells(claim, &part)?;
                if let Some(games) = &games {
                    state.scores = Scores::of(games, &restrainers)?;
                }
                Ok::<_, AskError>(state)
            }
            None => Ok(State::default()),
        };
        let turns = || {
            let turns = match dataset.part(Table::Turns, id) {
                Some(part) => of_turns(claim, &part, sample)?,
                None => OfTurns::default(),
            };
            let mut twins = Sets::of(id, turns.rows);
            if let Some(games) = &games {
                twins.name_owners(games)?;
            }
            let cells = Cells::of_rows(turns.counted);
            Ok::<_, AskError>((cells, turns.side, twins))
        };
        let chances = || match &asked {
            Some(part) => Chances::of(claim, part),
            None => Ok(Chances::default()),
        };
        let ((state, chances), turns) = rayon::join(|| rayon::join(spells, chances), turns);
        let mut state = state?;
        (state.cells, state.side, state.twins) = turns?;
        state.chances = chances?;
        Ok(state)
    }

    fn of_spells(claim: &Claim, part: &Part) -> Result<(State, Restrainers), AskError> {
        part.groups()?
            .into_par_iter()
            .map(|group| {
                let (spells, shown) = held::read(claim, part, group)?;
                let (mut state, mut restrainers) = (State::default(), Restrainers::default());
                for spell in &spells {
                    state.count(claim, spell);
                    restrainers.note(spell);
                }
                state.by_turn = ByTurn::of(claim, &spells);
                state.candidates = Candidates::among(claim, shown);
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
        rayon::join(|| self.cells.add(other.cells), || self.side.add(other.side));
        self.twins.add(other.twins);
        self.chances.add(other.chances);
        for (fold, counts) in &other.folds {
            self.folds.entry(*fold).or_default().add(counts);
        }
        self.by_turn.add(other.by_turn);
        self.scores.add(other.scores);
        self.candidates.add(other.candidates);
        self.games.add(other.games, || self.candidates.games());
    }
}

/// What is counted of the turns of a part.
#[derive(Default)]
struct OfTurns {
    /// Lists of rows to be counted in their groups.
    counted: Vec<Vec<cells::Row>>,
    side: Cells,
    /// Rows that may be twins.
    rows: Vec<twins::Row>,
}

/// What is counted of a run of row groups.
#[derive(Default)]
struct OfRun {
    counted: Vec<cells::Row>,
    side: Tally,
    rows: Vec<twins::Row>,
}

impl From<OfRun> for OfTurns {
    fn from(run: OfRun) -> OfTurns {
        OfTurns {
            counted: vec![run.counted],
            side: run.side.into(),
            rows: run.rows,
        }
    }
}

/// What the claim's own pieces and free ones must meet, in the order of the filters' numbers.
pub(crate) fn filters(claim: &Claim) -> [Vec<Condition<'_>>; 2] {
    let (own, free) = if claim.is_of_restrained() {
        (AskedRows::RestrainedTurns, AskedRows::FreeBesideRestrained)
    } else {
        (AskedRows::HeldTurns, AskedRows::FreeBesideHeld)
    };
    [
        claim.conditions(own, &LEFT_OPEN),
        claim.conditions(free, &[]),
    ]
}

/// Counts the turns of a part.
fn of_turns(claim: &Claim, part: &Part, sample: u32) -> Result<OfTurns, AskError> {
    let filters = filters(claim);
    let counter = Counter::new(claim, sample);
    let count = |turn: &Turn, counted: &mut OfRun| counter.count(turn, counted);
    turn::by_runs(&filters, &counter.side, part, count)?
        .map(|run| run.map(OfTurns::from))
        .try_reduce(OfTurns::default, |mut sum, other| {
            sum.counted.extend(other.counted);
            sum.side.add(other.side);
            sum.rows.extend(other.rows);
            Ok(sum)
        })
}

/// What is counted of each turn.
struct Counter<'a> {
    claim: &'a Claim,
    sample: u32,
    groups: Vec<Group>,
    events: Vec<Event>,
    /// What is counted of the side.
    side: [(ClaimOutcome, u32); MEASURED],
    /// What is matched where that is compared.
    matched: Matched,
    /// The claim's own pieces.
    own: Group,
    /// Whether the outcome of the side has a guard.
    guarded: bool,
}

impl Counter<'_> {
    fn new(claim: &Claim, sample: u32) -> Counter<'_> {
        Counter {
            claim,
            sample,
            groups: choice::groups(claim),
            events: choice::events(claim),
            side: side::measured(claim),
            matched: choice::matched(claim, Varied::Within),
            own: Group::Own {
                k: claim.k,
                turns: claim.turns,
            },
            guarded: claim.outcome.is_of_side() && guards::has_placebo(claim),
        }
    }

    /// Counts a turn in each group it is in, and its row among the twins, if it has one.
    fn count(&self, turn: &Turn, counted: &mut OfRun) {
        let weight = if turn.landmark { 1 } else { self.sample };
        let stratum = Stratum::of(turn, self.claim.k);
        let came = self
            .events
            .iter()
            .rev()
            .fold(0u16, |bits, event| bits << 1 | u16::from(event.came(turn)));
        let (mut own, mut free) = (false, false);
        for (number, group) in (0..).zip(&self.groups) {
            if !group.has(self.claim, turn) {
                continue;
            }
            let place = (number, stratum, turn.fold);
            counted.counted.push(cells::Row::new(place, weight, came));
            own |= *group == self.own;
            free |= matches!(*group, Group::FreeUpTo(k) if k >= self.claim.k);
        }
        let group = match (own, free) {
            (true, _) => Some(side::Group::Own),
            (_, true) => Some(side::Group::Free),
            _ => None,
        };
        let placebo = (free && self.guarded && Group::Placebo.has(self.claim, turn))
            .then_some(side::Group::Placebo);
        for group in group.into_iter().chain(placebo) {
            let stratum = stratum.matched(self.matched);
            let place = (stratum.with_rating_diff(turn.rating_diff), turn.fold);
            side::add_row(&mut counted.side, group, place, weight.into(), &turn.side);
        }
        counted.rows.extend(twins::row(self.claim, turn, own, free));
    }
}
