//! The claim's pieces against comparable free ones, by the rows of the table `turns`, and how
//! the comparison changes with what was left to choice.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::Serialize;

use super::cells::Cells;
use super::choice::{self, Choice, Event, Group, Varied};
pub use super::count::Count;
use super::file::Claim;
use super::side_by_side::{Counted, SideBySide, add};
use super::stratum::Matched;
use hobble_conditions::terms::Outcome;
use hobble_report::few::{Lack, Nouns};
use hobble_statistics::few::{FREE_ROWS, Least};
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::{self, Cell, Figures, Table};
use hobble_statistics::{Estimate, LEVEL, TooFew};

/// The least that an interval asks for.
pub const LEAST: Least = Least {
    trials: 20,
    folds: 5,
    outcome_folds: 5,
};

/// What a claim's comparison calls its trials and outcomes.
pub const NOUNS: Nouns<'static> = Nouns {
    nothing: "no such piece was met",
    own: "such piece",
    other: "comparable free turn",
    incomparable: "has enough comparable free turns",
    outcome: " with the outcome",
};

/// The claim's pieces against comparable free turns, for one choice.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// Which choice is varied.
    pub varied: Varied,
    /// Safe squares, at most.
    pub k: u8,
    /// Turns held, at least.
    pub turns: u32,
    /// Horizon in moves.
    pub within: u32,
    /// What is counted.
    pub outcome: Outcome,
    /// Rows of the claim's pieces, and the turns they stand for.
    pub held_rows: u64,
    /// Turns of the claim's pieces.
    pub held: u64,
    /// Those with the outcome.
    pub held_outcomes: u64,
    /// So many independent rows of one weight would hold as much information (Kish).
    pub held_effective: f64,
    /// Turns in strata that have comparable ones.
    pub compared_held: u64,
    /// Those with the outcome.
    pub compared_held_outcomes: u64,
    /// Their share of all turns of the claim's pieces.
    pub covered: Option<f64>,
    /// Rows of free pieces in these strata.
    pub compared_free_rows: u64,
    /// Turns these rows stand for.
    pub compared_free: u64,
    /// Those with the outcome.
    pub compared_free_outcomes: u64,
    /// So many independent rows of one weight would hold as much information (Kish).
    pub compared_free_effective: f64,
    /// Strata compared.
    pub strata: u64,
    /// Strata without enough comparable rows, left out.
    pub strata_left_out: u64,
    /// Rate of the claim's pieces compared.
    pub held_rate: Estimate,
    /// Rate of the free turns, spread over the strata as the claim's pieces are.
    pub free_rate: Estimate,
    /// The first divided by the second.
    pub ratio: Estimate,
    /// The first less the second.
    pub difference: Estimate,
    /// Why there is no interval, where the counts are too small: in JSON a sentence.
    pub too_few: Option<Lack>,
}

/// What a pairing of two groups counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pairing {
    /// The group looked at.
    pub own: Group,
    /// The k at which the others are free.
    pub k: u8,
    /// What is matched.
    pub matched: Matched,
    /// The event.
    pub event: Event,
    /// Pieces to whom this came are left out.
    pub without: Option<Event>,
    /// Games whose id leaves this remainder by two; all where none.
    pub parity: Option<u8>,
}

/// A pairing, counted: the turns, and the rows behind them.
pub struct Paired {
    turns: Table,
    rows: Table,
    /// All rows of the group looked at, and their turns and events, in any stratum.
    all: [Count; 2],
    /// Folds of either side.
    folds: BTreeSet<u8>,
}

impl Pairing {
    /// The pairing of a choice.
    pub fn of(claim: &Claim, (varied, choice): (Varied, Choice)) -> Pairing {
        let met = Event::Met(choice.outcome, choice.within);
        Pairing {
            own: Group::Own {
                k: choice.k,
                turns: choice.turns,
            },
            k: choice.k,
            matched: choice::matched(claim, varied),
            event: met,
            without: (varied == Varied::NotTraded).then_some(Event::Removed(choice.within)),
            parity: match varied {
                Varied::EvenGames => Some(0),
                Varied::OddGames => Some(1),
                _ => None,
            },
        }
    }

    /// Counts it. Strata without enough comparable rows are left out.
    pub fn count(&self, claim: &Claim, cells: &Cells) -> Paired {
        let (groups, events) = (choice::groups(claim), choice::events(claim));
        let event = |event| 1 + events.iter().position(|one| *one == event).unwrap_or(0);
        let (met, without) = (event(self.event), self.without.map(event));
        let columns = [0, met, without.unwrap_or(0)];
        let counts = |[mut all, met, gone]: [Count; 3]| {
            if without.is_some() {
                all -= gone;
            }
            [all, met]
        };
        let in_half = |fold: u8| self.parity.is_none_or(|parity| fold % 2 == parity);
        let of = |wanted: &dyn Fn(Group) -> bool| -> Vec<Counted> {
            let numbers = (0..groups.len()).filter(|at| wanted(groups[*at]));
            numbers
                .flat_map(|group| cells.of(group, columns))
                .filter(|cell| in_half(cell.1))
                .map(|(stratum, fold, found)| (stratum.matched(self.matched), fold, counts(found)))
                .collect()
        };
        let own = of(&|group| group == self.own);
        let free = of(&|group| matches!(group, Group::FreeUpTo(k) if k >= self.k));
        let mut sides = SideBySide::of(&own, &free);
        if self.own == Group::Placebo {
            // Such pieces are free as well: they are not compared with themselves.
            sides.take_own_from_free();
        }
        Paired::of(&sides)
    }
}

impl Paired {
    /// Two groups side by side.
    pub fn of(sides: &SideBySide) -> Paired {
        let mut paired = Paired {
            turns: Table::default(),
            rows: Table::default(),
            all: [Count::default(); 2],
            folds: BTreeSet::new(),
        };
        for (number, of_stratum) in sides.strata().enumerate() {
            let free_rows: u64 = of_stratum.iter().map(|[_, free]| free[0].rows).sum();
            for (fold, [own, free]) in (0..).zip(of_stratum) {
                if own[0].rows > 0 {
                    add(&mut paired.all, *own);
                    paired.put(number, fold, true, *own);
                }
                if free[0].rows > 0 && free_rows >= FREE_ROWS {
                    paired.put(number, fold, false, *free);
                }
            }
        }
        paired
    }

    fn put(&mut self, stratum: usize, fold: u8, own: bool, [all, met]: [Count; 2]) {
        let cell = |turns, outcomes| Cell {
            turns,
            outcomes,
            over: 0,
        };
        self.folds.insert(fold);
        let fold = u32::from(fold);
        self.turns
            .add(stratum, fold, own, cell(all.turns, met.turns));
        self.rows.add(stratum, fold, own, cell(all.rows, met.rows));
    }

    /// Rows of the group looked at, and the turns they stand for.
    pub fn own(&self) -> Count {
        self.all[0]
    }

    /// Rows of free pieces in the strata compared.
    pub fn free_rows(&self) -> u64 {
        self.rows.figures().compared.free.turns
    }

    /// What was compared, and the figures with one fold left out each.
    pub fn figures(&self) -> (Figures, Vec<Figures>) {
        (
            self.turns.figures(),
            self.turns.figures_without_one(|_| true),
        )
    }

    /// A figure, and the same with each fold of games left out.
    pub fn by_fold(&self, of: impl Fn(&Figures) -> f64) -> (f64, BTreeMap<u8, f64>) {
        let (figures, without_one) = self.figures();
        let by_fold = self.folds.iter().copied();
        let by_fold = by_fold.zip(without_one.iter().map(&of)).collect();
        (of(&figures), by_fold)
    }

    /// A figure with its interval, where there are enough for one, over so many folds.
    pub fn estimate(
        &self,
        scale: Scale,
        of: fn(&Figures) -> f64,
        (enough, folds): (bool, u32),
    ) -> Estimate {
        let (figures, without_one) = self.figures();
        standardise::estimate(scale, of, (&figures, &without_one), folds, LEVEL, enough)
    }

    /// Events of both sides in the strata compared, by the turns they stand for.
    pub fn events(&self) -> [u64; 2] {
        let figures = self.turns.figures().compared;
        [figures.held.outcomes, figures.free.outcomes]
    }

    /// Why there is no interval, and over how many folds both sides are spread.
    pub fn few(&self) -> (Option<TooFew>, [u32; 2]) {
        let (own, free) = self.rows.spread(true);
        let few = LEAST.check(&self.rows.figures(), own, free);
        (few, [own.folds, own.folds.min(free.folds)])
    }
}

/// Kish's effective number of rows of weight 1 or `sample`: (Σ w)² / Σ w².
fn effective(rows: u64, turns: u64, sample: u64) -> f64 {
    if rows == 0 {
        return 0.0;
    }
    let (rows, turns, sample) = (rows as f64, turns as f64, sample as f64);
    let sampled = if sample > 1.0 {
        (turns - rows) / (sample - 1.0)
    } else {
        0.0
    };
    turns * turns / (rows - sampled + sample * sample * sampled)
}

/// The comparison for some choices; what several of them ask is counted once.
pub fn compare(
    claim: &Claim,
    choices: &[(Varied, Choice)],
    cells: &Cells,
    sample: u64,
) -> Vec<Compared> {
    let pairing = |chosen: &(Varied, Choice)| Pairing::of(claim, *chosen);
    let mut once: Vec<(Varied, Choice)> = Vec::new();
    for chosen in choices {
        if once.iter().all(|other| pairing(other) != pairing(chosen)) {
            once.push(*chosen);
        }
    }
    let compared: Vec<Compared> = once
        .par_iter()
        .map(|chosen| figures(*chosen, &pairing(chosen).count(claim, cells), sample))
        .collect();
    let of = |chosen: &(Varied, Choice)| {
        let same = once
            .iter()
            .position(|other| pairing(other) == pairing(chosen))?;
        Some(Compared {
            varied: chosen.0,
            ..compared[same].clone()
        })
    };
    choices.iter().filter_map(of).collect()
}

/// The figures of a choice, of which one turn in `sample` is kept.
pub fn figures((varied, choice): (Varied, Choice), paired: &Paired, sample: u64) -> Compared {
    let (figures, without_one) = paired.figures();
    let rows = paired.rows.figures();
    let (few, [own_folds, folds]) = paired.few();
    let whole = (&figures, without_one.as_slice());
    let estimate =
        |scale, of, folds| standardise::estimate(scale, of, whole, folds, LEVEL, few.is_none());
    let [all, met] = paired.all;
    let (held, free) = (figures.compared.held, figures.compared.free);
    Compared {
        varied,
        k: choice.k,
        turns: choice.turns,
        within: choice.within,
        outcome: choice.outcome,
        held_rows: all.rows,
        held: all.turns,
        held_outcomes: met.turns,
        held_effective: effective(all.rows, all.turns, sample),
        compared_held: held.turns,
        compared_held_outcomes: held.outcomes,
        covered: (all.turns > 0).then(|| held.turns as f64 / all.turns as f64),
        compared_free_rows: rows.compared.free.turns,
        compared_free: free.turns,
        compared_free_outcomes: free.outcomes,
        compared_free_effective: effective(rows.compared.free.turns, free.turns, sample),
        strata: figures.strata,
        strata_left_out: figures.strata_left_out,
        held_rate: estimate(Scale::Logit, Figures::held_rate, own_folds),
        free_rate: estimate(Scale::Logit, Figures::free_rate, folds),
        ratio: estimate(Scale::Log, Figures::ratio, folds),
        difference: estimate(Scale::Plain, Figures::difference, folds),
        too_few: few.map(|few| NOUNS.lack(few)),
    }
}
