//! What the guards of a piece and of a side are both worked out from: whether there is a placebo,
//! the E-value, and a figure beyond that of a guard.

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};

use super::compare::Paired;
use super::file::Claim;
use hobble_conditions::terms::MAX_K;
use hobble_statistics::e_value::{self, EValue};
use hobble_statistics::interval::existing;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::Figures;
use hobble_statistics::{Bounds, Estimate, Interval, LEVEL, jackknife};

/// Whether squares may be taken from a piece of the claim so that more than k are left.
pub fn has_placebo(claim: &Claim) -> bool {
    claim.is_of_restrained() && claim.k < MAX_K
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

/// The E-value of a ratio with an interval.
pub(super) fn e_of(ratio: &Estimate) -> Option<EValue> {
    let Interval { low, high, .. } = ratio.jackknife?;
    e_value::of_interval(ratio.value?, Bounds { low, high })
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
