//! The guard of a claim about the side: a milder restraint that lasted as long.
//!
//! *Placebo exposure*: pieces that pass the claim's filters and that a quiet move left few squares,
//! but more than k ([`super::choice::Group::Placebo`]). They stand in positions of the same sort, and
//! their sides are as old in their trouble; what they were spared are the last squares. So the claim
//! has to say more than they do. A milder restraint may itself cost something: the guard asks for too
//! much rather than too little.
//!
//! The result belongs to the whole side, so that no other outcome of it can stand guard.

use serde::Serialize;

use super::cells::Cells;
use super::file::Claim;
use super::guard_figures::{self, as_pair};
use super::outcome::{ClaimOutcome, Measure};
use super::side::{self, Group, SideOutcome};
use hobble_statistics::e_value::EValue;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::Figures;
use hobble_statistics::{Estimate, TooFew};

/// What stands guard over a claim about the side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideGuards {
    /// The milder restraint; `null` where a claim has no such pieces.
    pub placebo: Option<Milder>,
    /// What an unknown cause would have to do. Of a score it is that of the ratio of both means;
    /// `null` for a change of the evaluation, which has no ratio.
    #[serde(serialize_with = "as_pair")]
    pub e_value: Option<EValue>,
}

/// A milder restraint beside the claim's.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Milder {
    /// The sides of pieces so restrained, beside comparable free ones.
    pub sides: SideOutcome,
    /// Both beside the same free pieces: of a mean the claim's difference less that of these sides,
    /// of an event the claim's ratio divided by theirs.
    pub beyond: Estimate,
    /// Whether the claim says more than they do.
    pub holds: bool,
    /// Why there is no interval.
    #[serde(skip)]
    pub few: Option<TooFew>,
}

/// The guards of a claim about the side; `None` where it is about the piece.
pub fn of(claim: &Claim, cells: &Cells) -> Option<SideGuards> {
    let (place, outcome, moves) = side::own_place(claim)?;
    let [own, milder] = side::guarded(cells, place);
    let ratio = || {
        let association = side::paired(cells, Group::Own, place);
        let (few, [_, folds]) = association.few();
        association.estimate(Scale::Log, Figures::ratio, (few.is_none(), folds))
    };
    let is_event = outcome.measure() == Measure::Event;
    let has_ratio = is_event || outcome == ClaimOutcome::Score;
    let placebo = guard_figures::has_placebo(claim).then(|| {
        let (few, _) = milder.few();
        let (scale, figure): (_, fn(&Figures) -> f64) = if is_event {
            (Scale::Log, Figures::ratio)
        } else {
            (Scale::Plain, Figures::difference)
        };
        let beyond = guard_figures::beyond(scale, figure, &own, &milder);
        let beyond = match outcome.measure() {
            Measure::Event => beyond,
            Measure::Mean { per, .. } => side::linear(beyond, 0.0, per.into()),
        };
        Milder {
            holds: beyond.jackknife.is_some_and(|it| match is_event {
                true => it.low > 1.0,
                false => it.high < 0.0,
            }),
            sides: side::of(outcome, moves, &milder),
            beyond,
            few,
        }
    });
    Some(SideGuards {
        placebo,
        e_value: has_ratio.then(ratio).as_ref().and_then(guard_figures::e_of),
    })
}
