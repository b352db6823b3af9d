//! The peers' figure in the player's mix of strata.
//!
//! A stratum in which peers have too few cases adds nothing, however many of the player's cases are
//! in it: three games without a loss do not make a rate of 0. Such strata are left out of both sides, and
//! the share of the player's cases in the others is kept.

use crate::count::Counts;
use crate::figure::{Wanted, sum};
use hobble_statistics::jackknife;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::Expected;

/// Least folds in which peers have cases, for a stratum to be compared.
const LEAST_FOLDS: usize = 5;

/// Least events, and least cases without the event, that the peers would have in a stratum at the
/// common rate. That rate is of the player and the peers together: where the two are alike, how many
/// events they have in all says nothing of who has them, so the choice does not favour either. By
/// the peers' own rate, of 2,000 simulated rounds with 50 games of peers and a rare event 38 had an
/// interval, those in which peers had many events by chance, and only 79 % of them held the truth.
const LEAST_EXPECTED: f64 = 10.0;

/// A stratum: its weight, and the peers' events and base, all and by fold.
struct Stratum {
    number: usize,
    weight: f64,
    events: u64,
    base: u64,
    /// What an event comes to.
    each: f64,
    folds: Vec<(u64, u64)>,
}

impl Stratum {
    fn rate(&self, without: (u64, u64)) -> f64 {
        self.each * (self.events - without.0) as f64 / (self.base - without.1) as f64
    }

    /// Standard error of its rate and degrees of freedom.
    fn spread(&self) -> (f64, f64) {
        let used: Vec<f64> = (self.folds.iter())
            .filter(|fold| fold.1 > 0)
            .map(|fold| self.rate(*fold))
            .collect();
        let error = jackknife::standard_error(&used).unwrap_or(0.0);
        (error, used.len() as f64 - 1.0)
    }

    fn is_enough(&self, common: f64, share: bool) -> bool {
        let folds = self.folds.iter().filter(|fold| fold.1 > 0).count();
        let expected = self.base as f64 * common;
        let without = self.base as f64 - expected;
        folds >= LEAST_FOLDS && expected >= LEAST_EXPECTED && (!share || without >= LEAST_EXPECTED)
    }
}

/// The peers' figure in the player's mix, and with one fold left out each.
pub struct Standardised {
    strata: Vec<Stratum>,
    /// The figure.
    pub value: f64,
    without_one: Vec<f64>,
    /// Folds with events.
    pub folds_with_event: usize,
    /// Events in the strata compared.
    pub events: u64,
    /// Base in the strata compared.
    pub base: u64,
    /// The player's base in the strata compared.
    pub covered: u64,
    /// The player's base.
    pub of: u64,
}

/// The peers' figure; `own` has the stratum and the counts of each game of the player's, `peers` the
/// counts by stratum and fold. `None` where no stratum has both.
pub fn standardised(
    wanted: &Wanted,
    share: bool,
    own: &[(usize, &Counts)],
    peers: &[Vec<Counts>],
) -> Option<Standardised> {
    let (events, base) = (wanted.events as usize, wanted.base as usize);
    let mut weights = vec![0_u64; peers.len()];
    for (stratum, counts) in own {
        weights[*stratum] += counts[base];
    }
    let of = weights.iter().sum();
    let mut strata: Vec<Stratum> = (0..)
        .zip(peers.iter().zip(&weights))
        .filter_map(|(number, (folds, weight))| {
            let folds: Vec<(u64, u64)> = folds.iter().map(|c| (c[events], c[base])).collect();
            let (n, d) = sum(&folds);
            (*weight > 0 && d > 0).then_some(Stratum {
                number,
                weight: *weight as f64,
                events: n,
                base: d,
                each: wanted.unit.each(),
                folds,
            })
        })
        .collect();
    if strata.is_empty() {
        return None;
    }
    let common = common_rate(
        &strata,
        own.iter()
            .map(|(stratum, c)| (*stratum, c[events], c[base])),
    );
    strata.retain(|one| one.is_enough(common, share));
    let used = |what: fn(&(u64, u64)) -> u64| -> Vec<usize> {
        (0..64)
            .filter(|&fold| strata.iter().any(|one| what(&one.folds[fold]) > 0))
            .collect()
    };
    let with_base = used(|one| one.1);
    let folds_with_event = used(|one| one.0).len();
    let without_one = with_base.iter().map(|&fold| figure(&strata, Some(fold)));
    let without_one = without_one.collect();
    Some(Standardised {
        value: figure(&strata, None),
        without_one,
        folds_with_event,
        events: strata.iter().map(|one| one.events).sum(),
        base: strata.iter().map(|one| one.base).sum(),
        covered: strata.iter().map(|one| weights[one.number]).sum(),
        of,
        strata,
    })
}

/// The rate of the player and the peers together, in the strata that have both.
fn common_rate(strata: &[Stratum], own: impl Iterator<Item = (usize, u64, u64)>) -> f64 {
    let both = |number: usize| strata.iter().any(|one| one.number == number);
    let own = own
        .filter(|(stratum, ..)| both(*stratum))
        .map(|(_, n, d)| (n, d));
    let peers = strata.iter().map(|one| (one.events, one.base));
    let (events, base) = own
        .chain(peers)
        .fold((0, 0), |(n, d), one| (n + one.0, d + one.1));
    events as f64 / base as f64
}

fn figure(strata: &[Stratum], left_out: Option<usize>) -> f64 {
    let mut expected = Expected::default();
    for one in strata {
        let out = left_out.map_or((0, 0), |fold| one.folds[fold]);
        expected.add(one.weight, one.weight * one.rate(out));
    }
    expected.rate()
}

impl Standardised {
    /// Whether a stratum is compared.
    pub fn compares(&self, stratum: usize) -> bool {
        self.strata.iter().any(|one| one.number == stratum)
    }

    /// Standard error on a scale; `None` where the folds do not differ.
    pub fn se(&self, on: Scale) -> Option<f64> {
        let values: Vec<f64> = self.without_one.iter().map(|v| on.forward(*v)).collect();
        jackknife::standard_error(&values).filter(|se| *se > 0.0)
    }

    /// Degrees of freedom of that error. A stratum with much weight and few folds leaves few,
    /// however many folds the others have: Satterthwaite's approximation over the strata.
    pub fn df(&self) -> f64 {
        let spreads = self.strata.iter().map(|one| {
            let (error, df) = one.spread();
            ((one.weight * error).powi(2), df)
        });
        satterthwaite(&spreads.collect::<Vec<_>>())
    }
}

/// Degrees of freedom of a sum of independent variances, each with its own.
///
/// Source: Satterthwaite 1946, in full in [`hobble_statistics::sources`].
pub fn satterthwaite(parts: &[(f64, f64)]) -> f64 {
    let whole: f64 = parts.iter().map(|(variance, _)| variance).sum();
    let weighted: f64 = parts
        .iter()
        .map(|(variance, df)| variance.powi(2) / df)
        .sum();
    whole.powi(2) / weighted
}

/// Whole degrees of freedom, rounded down; a number whole but for its last digits stays.
pub fn whole(df: f64) -> usize {
    (df + 1e-6) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Equal variances on 4 and 4 degrees have 8; one without variance adds none.
    #[test]
    fn degrees_of_freedom() {
        assert!((satterthwaite(&[(1.0, 4.0), (1.0, 4.0)]) - 8.0).abs() < 1e-12);
        assert!((satterthwaite(&[(2.0, 6.0), (0.0, 1.0)]) - 6.0).abs() < 1e-12);
    }
}
