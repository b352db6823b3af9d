//! Direct standardisation: what rate would the free pieces have, were they spread over the
//! strata as the held ones are?
//!
//! ```text
//! standardised free rate = Σ hₛ × (free outcomesₛ / free turnsₛ) / Σ hₛ
//! ```
//!
//! with hₛ the held turns of stratum s, both sums over the strata that have held *and* free
//! turns. Held turns of the other strata are left out of the held rate as well, and counted.
//!
//! Source: Miettinen 1972 (the weights of the exposed group, which give the standardised
//! morbidity ratio), in full in [`crate::sources`].

use std::collections::BTreeMap;

pub use crate::cell::{Cell, Sides};
pub use crate::figures::{Expected, Figures};
use crate::interval::{Estimate, Interval, existing};
use crate::jackknife;
use crate::risk::Scale;
use crate::strata::Strata;

/// Counts by stratum and fold.
#[derive(Debug, Clone, Default)]
pub struct Table {
    strata: Vec<Sides>,
    /// The strata of each fold, in their order.
    folds: BTreeMap<u32, Vec<(usize, Sides)>>,
}

/// In how many folds a side has turns and outcomes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Spread {
    /// Folds with turns.
    pub folds: u32,
    /// Folds with outcomes.
    pub outcome_folds: u32,
}

/// The figures without a fold.
#[derive(Debug, Clone, PartialEq)]
pub struct WithoutFold {
    /// The fold that is left out.
    pub fold: u32,
    /// What it holds.
    pub sum: Sides,
    /// The figures of the rest.
    pub figures: Figures,
}

impl Table {
    /// Adds counts to one cell. Strata are numbered from 0 by the caller.
    pub fn add(&mut self, stratum: usize, fold: u32, held: bool, cell: Cell) {
        if self.strata.len() <= stratum {
            self.strata.resize_with(stratum + 1, Sides::default);
        }
        let total = &mut self.strata[stratum];
        let part = part(self.folds.entry(fold).or_default(), stratum);
        if held {
            total.held += cell;
            part.held += cell;
        } else {
            total.free += cell;
            part.free += cell;
        }
    }

    /// The figures of the whole table.
    pub fn figures(&self) -> Figures {
        Strata::of(&self.strata).figures()
    }

    /// The figures with one fold left out each, for every fold that `counts` (by its own
    /// sums); see [`Table::without_each_fold`].
    pub fn figures_without_one(&self, counts: impl Fn(&Sides) -> bool) -> Vec<Figures> {
        let all = self.without_each_fold().into_iter();
        let counted = all.filter(|one| counts(&one.sum));
        counted.map(|one| one.figures).collect()
    }

    /// The figures with each fold left out in turn. Strata that lose their comparison with the
    /// fold are left out, as they would be had the fold never been there.
    pub fn without_each_fold(&self) -> Vec<WithoutFold> {
        let mut rest = Strata::of(&self.strata);
        let mut out = Vec::with_capacity(self.folds.len());
        for (&fold, parts) in &self.folds {
            let mut sum = Sides::default();
            for (_, part) in parts {
                sum.held += part.held;
                sum.free += part.free;
            }
            for (stratum, part) in parts {
                let mut less = self.strata[*stratum];
                less.held -= part.held;
                less.free -= part.free;
                rest.put(*stratum, less);
            }
            let figures = rest.figures();
            out.push(WithoutFold { fold, sum, figures });
            for (stratum, _) in parts {
                rest.put(*stratum, self.strata[*stratum]);
            }
        }
        out
    }

    /// Spread of the held and of the free side over the folds: of all strata, or only of
    /// those compared.
    pub fn spread(&self, compared_only: bool) -> (Spread, Spread) {
        let (mut held, mut free) = (Spread::default(), Spread::default());
        for parts in self.folds.values() {
            let mut sum = Sides::default();
            for (stratum, part) in parts {
                if !compared_only || self.strata[*stratum].comparable() {
                    sum.held += part.held;
                    sum.free += part.free;
                }
            }
            for (spread, cell) in [(&mut held, sum.held), (&mut free, sum.free)] {
                spread.folds += u32::from(cell.turns > 0);
                spread.outcome_folds += u32::from(cell.outcomes > 0);
            }
        }
        (held, free)
    }
}

/// Interval of a figure by the delete-a-fold jackknife, from the figures with one fold left
/// out each; one less than `folds` gives the degrees of freedom.
pub fn interval(
    scale: Scale,
    of: impl Fn(&Figures) -> f64,
    whole: f64,
    without_one: &[Figures],
    folds: u32,
    level: f64,
) -> Option<Interval> {
    let replicates: Vec<f64> = without_one
        .iter()
        .map(|figures| scale.forward(of(figures)))
        .collect();
    jackknife::interval(scale, whole, &replicates, folds, level)
}

/// A figure, and its [`interval`] where `enough` says that the counts allow one.
pub fn estimate(
    scale: Scale,
    of: fn(&Figures) -> f64,
    (whole, without_one): (&Figures, &[Figures]),
    folds: u32,
    level: f64,
    enough: bool,
) -> Estimate {
    let whole = of(whole);
    Estimate {
        value: existing(whole),
        jackknife: enough
            .then(|| interval(scale, of, whole, without_one, folds, level))
            .flatten(),
    }
}

/// The part of a stratum among those of a fold, which stand in their order.
fn part(parts: &mut Vec<(usize, Sides)>, stratum: usize) -> &mut Sides {
    // Strata come one after another, so that the last is nearly always the one.
    let place = match parts.last() {
        Some((last, _)) if *last < stratum => Err(parts.len()),
        _ => parts.binary_search_by_key(&stratum, |part| part.0),
    };
    let place = place.unwrap_or_else(|place| {
        parts.insert(place, (stratum, Sides::default()));
        place
    });
    &mut parts[place].1
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn cell(turns: u64, outcomes: u64) -> Cell {
        Cell {
            turns,
            outcomes,
            over: 0,
        }
    }

    /// Two strata by hand: free rates 10/100 and 40/200, held turns 30 and 10, so the free
    /// pieces would lose (30 × 0.1 + 10 × 0.2) / 40 = 0.125; held lose 8 of 40 = 0.2. A third
    /// stratum has no free pieces and stays out of both sides.
    #[test]
    fn by_hand() {
        let mut table = Table::default();
        table.add(0, 0, true, cell(20, 3));
        table.add(0, 1, true, cell(10, 2));
        table.add(0, 0, false, cell(100, 10));
        table.add(1, 1, true, cell(10, 3));
        table.add(1, 0, false, cell(200, 40));
        table.add(2, 5, true, cell(7, 7));
        let got = table.figures();
        assert!((got.free_rate() - 0.125).abs() < 1e-15);
        assert!((got.held_rate() - 0.2).abs() < 1e-15);
        assert!((got.ratio() - 1.6).abs() < 1e-15);
        assert!((got.difference() - 0.075).abs() < 1e-15);
        assert_eq!((got.strata, got.strata_left_out), (2, 1));
        assert_eq!(got.left_out, cell(7, 7));
        assert_eq!(got.raw.held, cell(47, 15));
        assert_eq!(got.compared.free, cell(300, 50));

        // Without fold 0 no free piece is left, so nothing can be compared.
        let without = table.figures_without_one(|_| true);
        assert_eq!(without.len(), 3);
        assert_eq!((without[0].strata, without[0].strata_left_out), (0, 3));
        assert!(without[0].free_rate().is_nan());
        assert_eq!(without[2].raw.held, cell(40, 8));
        assert_eq!(table.figures_without_one(|sum| sum.free.turns > 0).len(), 1);

        let (held, free) = table.spread(true);
        assert_eq!(
            held,
            Spread {
                folds: 2,
                outcome_folds: 2
            }
        );
        assert_eq!(
            free,
            Spread {
                folds: 1,
                outcome_folds: 1
            }
        );
        assert_eq!(
            table.spread(false).0,
            Spread {
                folds: 3,
                outcome_folds: 3
            }
        );
    }

    /// A free turn drawn with the chance 1/16 stands for sixteen.
    #[test]
    fn sampled_turns() {
        let (mut sampled, mut all) = (Table::default(), Table::default());
        for fold in 0..8 {
            for table in [&mut sampled, &mut all] {
                table.add(0, fold, true, cell(10, 1 + u64::from(fold % 3)));
            }
            let free = cell(5, u64::from(fold % 2));
            sampled.add(0, fold, false, free * 16);
            for _ in 0..16 {
                all.add(0, fold, false, free);
            }
        }
        assert_eq!(sampled.figures(), all.figures());
        assert_eq!(
            sampled.figures_without_one(|_| true),
            all.figures_without_one(|_| true)
        );
    }

    fn tables() -> impl Strategy<Value = Vec<(usize, u32, bool, u64, u64)>> {
        prop::collection::vec(
            (0usize..6, 0u32..64, any::<bool>(), 1u64..50, 0u64..50),
            1..60,
        )
        .prop_map(|rows| {
            rows.into_iter()
                .map(|(s, f, h, n, e)| (s, f, h, n, e.min(n)))
                .collect()
        })
    }

    proptest! {
        /// Leaving a fold out is the same as never having had it.
        #[test]
        fn without_one_is_never_had(rows in tables()) {
            let build = |skip: Option<u32>| {
                let mut table = Table::default();
                for &(s, f, h, n, e) in &rows {
                    if Some(f) != skip {
                        table.add(s, f, h, cell(n, e));
                    }
                }
                table
            };
            let mut folds: Vec<u32> = rows.iter().map(|row| row.1).collect();
            folds.sort_unstable();
            folds.dedup();
            let got = build(None).figures_without_one(|_| true);
            for (fold, got) in folds.into_iter().zip(got) {
                let want = build(Some(fold)).figures();
                prop_assert_eq!(got.raw, want.raw);
                prop_assert_eq!(got.compared, want.compared);
                prop_assert_eq!(got.left_out, want.left_out);
                prop_assert!((got.expected.events - want.expected.events).abs() < 1e-9);
            }
        }

        /// With one stratum the standardised free rate is the raw one, and no rate leaves 0..1.
        #[test]
        fn one_stratum_is_raw(rows in tables()) {
            let (mut one, mut many) = (Table::default(), Table::default());
            for &(s, f, h, n, e) in &rows {
                one.add(0, f, h, cell(n, e));
                many.add(s, f, h, cell(n, e));
            }
            let got = one.figures();
            if got.strata == 1 {
                prop_assert!((got.free_rate() - got.raw.free.rate()).abs() < 1e-12);
            }
            let many = many.figures();
            prop_assert_eq!(many.compared.held.turns + many.left_out.turns, many.raw.held.turns);
            if many.strata > 0 {
                prop_assert!((-1e-12..=1.0 + 1e-12).contains(&many.free_rate()));
            }
        }
    }
}
