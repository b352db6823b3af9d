//! Guards: two comparisons that should show nothing if the restraint itself is what counts,
//! and how strong an unknown cause would have to be to explain the association away.
//!
//! *Negative control outcome*: the loss of another piece of the same side, between the same
//! turns. The restraint of this piece has little to do with it, the position has everything.
//! *Placebo exposure*: a move of the same sort took squares from the piece, but left it more
//! than k. A guard holds if the piece's own ratio stays above the guard's: the interval of the
//! quotient of both ratios lies above 1.
//!
//! Source: M. Lipsitch, E. Tchetgen Tchetgen, T. Cohen, "Negative controls: a tool for detecting
//! confounding and bias in observational studies", Epidemiology 21 (2010), 383–388 (cited from
//! memory).

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};

use super::cells::Cells;
use super::choice::{Choice, Event, Group, Varied};
use super::compare::{Paired, Pairing};
use super::file::Claim;
use super::side_guard::{self, SideGuards};
use hobble_conditions::terms::MAX_K;
use hobble_statistics::e_value::{self, EValue};
use hobble_statistics::interval::existing;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::Figures;
use hobble_statistics::{Bounds, Estimate, Interval, LEVEL, TooFew, jackknife};

/// What a guard shows beside the association.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Guard {
    /// The guard's own ratio.
    pub ratio: Estimate,
    /// The association's ratio divided by it.
    pub beyond: Estimate,
    /// Events of the group looked at, and of the free ones, by the turns they stand for.
    pub events: [u64; 2],
    /// Whether the association's ratio stays above it.
    pub holds: bool,
    /// Why there is no interval.
    #[serde(skip)]
    pub few: Option<TooFew>,
}

/// The guards of an association.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Guards {
    /// Another knight, bishop, rook or queen of the side lost.
    pub others: Guard,
    /// Squares taken, but not so many; `null` where a claim has no such pieces.
    pub placebo: Option<Guard>,
    /// What an unknown cause would have to do.
    #[serde(serialize_with = "as_pair")]
    pub e_value: Option<EValue>,
    /// Those of a claim about the side, for which the guards above say what becomes of the piece
    /// alone; `null` for a claim about the piece.
    pub side: Option<SideGuards>,
}

pub(super) fn as_pair<S: Serializer>(e_value: &Option<EValue>, out: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Shown {
        estimate: f64,
        limit: f64,
    }
    e_value
        .map(|EValue { estimate, limit }| Shown { estimate, limit })
        .serialize(out)
}

impl Guards {
    /// Whether each guard that could be asked holds, the side's other pieces first of all.
    pub fn hold(&self) -> bool {
        let placebo = self.placebo.as_ref().filter(|guard| guard.few.is_none());
        self.others.holds && placebo.is_none_or(|guard| guard.holds)
    }
}

/// Whether squares may be taken from a piece of the claim so that more than k are left.
pub fn has_placebo(claim: &Claim) -> bool {
    claim.is_of_restrained() && claim.k < MAX_K
}

/// The guards of the claim's own comparison, whose ratio is `ratio`; `side` are the counts of the
/// sides.
pub fn guards(claim: &Claim, (cells, side): (&Cells, &Cells), ratio: &Estimate) -> Guards {
    let own = Pairing::of(claim, (Varied::Within, Choice::of(claim)));
    let count = |pairing: Pairing| pairing.count(claim, cells);
    let (whole, (others, placebo)) = rayon::join(
        || count(own),
        || {
            rayon::join(
                || {
                    count(Pairing {
                        event: Event::OthersLost(claim.within),
                        ..own
                    })
                },
                || {
                    has_placebo(claim).then(|| {
                        count(Pairing {
                            own: Group::Placebo,
                            ..own
                        })
                    })
                },
            )
        },
    );
    Guards {
        others: beside(&whole, &others),
        placebo: placebo.map(|placebo| beside(&whole, &placebo)),
        e_value: e_of(ratio),
        side: side_guard::of(claim, side),
    }
}

/// The E-value of a ratio with an interval.
pub(super) fn e_of(ratio: &Estimate) -> Option<EValue> {
    let Interval { low, high, .. } = ratio.jackknife?;
    e_value::of_interval(ratio.value?, Bounds { low, high })
}

/// A guard beside the claim's own pairing.
pub fn beside(own: &Paired, guard: &Paired) -> Guard {
    let (few, [_, folds]) = guard.few();
    let ratio = guard.estimate(Scale::Log, Figures::ratio, (few.is_none(), folds));
    let beyond = beyond(Scale::Log, Figures::ratio, own, guard);
    Guard {
        holds: beyond.jackknife.is_some_and(|interval| interval.low > 1.0),
        ratio,
        beyond,
        events: guard.events(),
        few,
    }
}

/// A figure of the claim's own pairing less that of a guard on some scale: the quotient of both on
/// that of logarithms. The folds that either has are left out of both at once.
pub fn beyond(scale: Scale, of: fn(&Figures) -> f64, own: &Paired, guard: &Paired) -> Estimate {
    let (own_few, [_, own_folds]) = own.few();
    let (few, [_, folds]) = guard.few();
    let (own_whole, own_by_fold) = own.by_fold(of);
    let (whole, by_fold) = guard.by_fold(of);
    let less = |own: f64, guard: f64| scale.forward(own) - scale.forward(guard);
    let mut left_out: Vec<u8> = own_by_fold.keys().chain(by_fold.keys()).copied().collect();
    left_out.sort_unstable();
    left_out.dedup();
    let without = |fold, by_fold: &BTreeMap<u8, f64>, whole| *by_fold.get(&fold).unwrap_or(&whole);
    let without_one: Vec<f64> = left_out
        .into_iter()
        .map(|fold| {
            less(
                without(fold, &own_by_fold, own_whole),
                without(fold, &by_fold, whole),
            )
        })
        .collect();
    let value = scale.back(less(own_whole, whole));
    let enough = few.is_none() && own_few.is_none();
    Estimate {
        value: existing(value),
        jackknife: enough
            .then(|| jackknife::interval(scale, value, &without_one, folds.min(own_folds), LEVEL))
            .flatten(),
    }
}
