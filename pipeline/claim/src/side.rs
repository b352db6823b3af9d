//! More than the piece itself: what became of its side and of the game, beside comparable free
//! pieces. Long restraint seldom wins the piece; it leaves its owner a piece short elsewhere.
//!
//! Each outcome is a sum of whole numbers over rows, by stratum and fold, and of the rows at which
//! it is known; a mean is standardised as a rate is.

use serde::Serialize;

use super::cells::{Cells, Tally};
use super::compare::{NOUNS, Paired};
use super::count::Count;
use super::file::Claim;
use super::outcome::{ClaimOutcome, MEASURED, Measure};
use super::side_by_side::{Counted, SideBySide};
use super::stratum::Stratum;
use hobble_report::few::Lack;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::{self, Figures};
use hobble_statistics::{Estimate, Interval, LEVEL};
use rustc_hash::FxHashMap;

/// Moves at which material is looked at where the claim's horizon has no balance.
const MOVES: u32 = 10;

/// The outcomes that are counted for a claim, and after how many moves.
pub fn measured(claim: &Claim) -> [(ClaimOutcome, u32); MEASURED] {
    let known = |outcome: ClaimOutcome| match claim.within {
        within if outcome.known_after(within) => within,
        _ => MOVES,
    };
    [
        (ClaimOutcome::Score, claim.within),
        (
            ClaimOutcome::MaterialLost,
            known(ClaimOutcome::MaterialLost),
        ),
        (ClaimOutcome::AnotherLost, claim.within),
        (ClaimOutcome::Evaluation, 1),
        (ClaimOutcome::Evaluation, 3),
        (ClaimOutcome::Evaluation, 5),
        (ClaimOutcome::Evaluation, 10),
    ]
}

/// The outcome that a claim is about, where it is one of the side.
pub fn own<'a>(claim: &Claim, outcomes: &'a [SideOutcome]) -> Option<&'a SideOutcome> {
    let within = own_moves(claim);
    outcomes
        .iter()
        .find(|row| row.outcome == claim.outcome && row.within.is_none_or(|moves| moves == within))
}

/// The groups that are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// The claim's pieces.
    Own,
    /// Free ones.
    Free,
    /// Those of them from which a milder restraint took squares: they are counted as free as well.
    Placebo,
}

/// Counts a row: of each outcome whether it is known, and its value.
pub fn add_row(
    tally: &mut Tally,
    group: Group,
    (stratum, fold): (Stratum, u8),
    weight: u64,
    values: &[Option<u32>; MEASURED],
) {
    let mut numbers = [0; 2 * MEASURED];
    for (pair, value) in numbers.as_chunks_mut::<2>().0.iter_mut().zip(values) {
        *pair = [value.is_some().into(), value.unwrap_or(0)];
    }
    tally.add_row((group as u8, stratum, fold), weight, &numbers);
}

/// An outcome of the side, of the claim's pieces beside comparable free ones.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideOutcome {
    /// What is counted.
    pub outcome: ClaimOutcome,
    /// After how many moves; `null` for the result of the game.
    pub within: Option<u32>,
    /// Rows of the claim's pieces at which it is known.
    pub held_rows: u64,
    /// Turns that these stand for.
    pub held: u64,
    /// Turns at which the event came; of a mean the sum of its whole numbers.
    pub held_events: u64,
    /// Their share that has comparable free ones.
    pub covered: Option<f64>,
    /// Rows of these free ones.
    pub free_rows: u64,
    /// Strata compared.
    pub strata: u64,
    /// Rate or mean of the claim's pieces compared.
    pub held_value: Estimate,
    /// Of the free ones, spread over the strata as the claim's pieces are.
    pub free_value: Estimate,
    /// The first divided by the second; of events alone.
    pub ratio: Option<Estimate>,
    /// The first less the second.
    pub difference: Estimate,
    /// Why there is no interval, where the counts are too small: in JSON a sentence.
    pub too_few: Option<Lack>,
}

/// The outcomes that are known of any of the claim's pieces.
pub fn compare(claim: &Claim, cells: &Cells) -> Vec<SideOutcome> {
    let all = measured(claim).into_iter().enumerate();
    all.filter_map(|(place, (outcome, moves))| {
        let paired = paired(cells, Group::Own, place);
        (paired.own().turns > 0).then(|| of(outcome, moves, &paired))
    })
    .collect()
}

/// A group beside free pieces, by stratum and fold: the outcome of this place.
pub(super) fn paired(cells: &Cells, group: Group, place: usize) -> Paired {
    let columns = columns(place);
    let of = |group: Group| -> Vec<Counted> { cells.of(group as usize, columns).collect() };
    Paired::of(&SideBySide::of(&of(group), &of(Group::Free)))
}

/// The claim's pieces and those of the placebo, both beside the free pieces that are neither: were
/// those of the placebo among the free ones of the claim alone, the two would be compared with others.
pub(super) fn guarded(cells: &Cells, place: usize) -> [Paired; 2] {
    let columns = columns(place);
    let of = |group: Group| -> Vec<Counted> { cells.of(group as usize, columns).collect() };
    let milder = of(Group::Placebo);
    let by_place: FxHashMap<(Stratum, u8), [Count; 2]> = milder
        .iter()
        .map(|(stratum, fold, counts)| ((*stratum, *fold), *counts))
        .collect();
    let mut free = of(Group::Free);
    for (stratum, fold, counts) in &mut free {
        if let Some([all, sum]) = by_place.get(&(*stratum, *fold)) {
            counts[0] -= *all;
            counts[1] -= *sum;
        }
    }
    [of(Group::Own), milder].map(|group| Paired::of(&SideBySide::of(&group, &free)))
}

/// Columns of an outcome: the turns at which it is known, and the sum of its values.
const fn columns(place: usize) -> [usize; 2] {
    [1 + 2 * place, 2 + 2 * place]
}

/// The outcome that a claim is about, where it is one of the side: its place among those measured,
/// and after how many moves.
pub(super) fn own_place(claim: &Claim) -> Option<(usize, ClaimOutcome, u32)> {
    let mut all = measured(claim).into_iter().enumerate();
    let moves = own_moves(claim);
    all.find(|(_, (outcome, after))| {
        *outcome == claim.outcome && (*outcome == ClaimOutcome::Score || *after == moves)
    })
    .map(|(place, (outcome, moves))| (place, outcome, moves))
}

/// Moves after which the outcome of a claim about the side is looked at.
fn own_moves(claim: &Claim) -> u32 {
    if claim.outcome.known_after(claim.within) {
        claim.within
    } else {
        MOVES
    }
}

/// An outcome of a group beside free pieces.
pub(super) fn of(outcome: ClaimOutcome, moves: u32, paired: &Paired) -> SideOutcome {
    let (figures, without_one) = paired.figures();
    let (few, [own_folds, folds]) = paired.few();
    let whole = (&figures, without_one.as_slice());
    let estimate = |scale, of: fn(&Figures) -> f64, folds| {
        standardise::estimate(scale, of, whole, folds, LEVEL, few.is_none())
    };
    let is_event = outcome.measure() == Measure::Event;
    let rates = if is_event { Scale::Logit } else { Scale::Plain };
    let (zero, per) = match outcome.measure() {
        Measure::Event => (0.0, 1.0),
        Measure::Mean { zero, per } => (f64::from(zero), f64::from(per)),
    };
    let mean = |estimate: Estimate| linear(estimate, zero, per);
    let own = paired.own();
    SideOutcome {
        outcome,
        within: (outcome != ClaimOutcome::Score).then_some(moves),
        held_rows: own.rows,
        held: own.turns,
        held_events: paired.events()[0],
        covered: (own.turns > 0).then(|| figures.compared.held.turns as f64 / own.turns as f64),
        free_rows: paired.free_rows(),
        strata: figures.strata,
        held_value: mean(estimate(rates, Figures::held_rate, own_folds)),
        free_value: mean(estimate(rates, Figures::free_rate, folds)),
        ratio: is_event.then(|| estimate(Scale::Log, Figures::ratio, folds)),
        difference: linear(estimate(Scale::Plain, Figures::difference, folds), 0.0, per),
        too_few: few.map(|few| NOUNS.lack(few)),
    }
}

/// A figure of whole numbers in points or pawns.
pub(super) fn linear(estimate: Estimate, zero: f64, per: f64) -> Estimate {
    let put = |value: f64| (value - zero) / per;
    Estimate {
        value: estimate.value.map(put),
        jackknife: estimate.jackknife.map(|interval| Interval {
            low: put(interval.low),
            high: put(interval.high),
            se: interval.se.map(|se| se / per),
            ..interval
        }),
    }
}
