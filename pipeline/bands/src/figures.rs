//! A figure with every fold left out in turn, and its interval.

use super::counts::{FOLDS, Folds, Ratio, total};
use super::cube::{STRATA, Strata, coarse, kind_of};
use super::measures::Split;
use hobble_conditions::terms::Kind;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::Expected;
use hobble_statistics::{StandardError, jackknife};

/// A figure, and the same without one fold each.
#[derive(Debug, Clone)]
pub struct Replicates {
    /// The figure.
    pub whole: f64,
    /// By fold, the figure without it.
    pub without: [f64; FOLDS],
    /// Folds that hold anything to leave out.
    pub present: [bool; FOLDS],
}

/// A cell worked out.
#[derive(Debug, Clone)]
pub struct Worked {
    /// The figure.
    pub figure: Replicates,
    /// What it is set against: the same of all levels.
    pub overall: Option<Replicates>,
    /// Denominator.
    pub n: u64,
    /// Folds with a denominator.
    pub folds: u32,
    /// Folds with a numerator.
    pub event_folds: u32,
    /// Share of the standard population covered.
    pub covered: Option<f64>,
}

impl Replicates {
    /// A quotient of sums.
    pub fn ratio(folds: &Folds) -> Replicates {
        let sum = total(folds);
        Replicates {
            whole: sum.value(),
            without: folds.map(|fold| sum.without(fold).value()),
            present: folds.map(|fold| fold.trials > 0),
        }
    }

    /// Standard error on a scale, over the folds present.
    pub fn error(&self, scale: Scale, folds: u32) -> Option<StandardError> {
        error(self.present, folds, |fold| {
            scale.forward(self.without[fold])
        })
    }
}

/// Standard error of what `of` gives without one fold each.
pub fn error(
    present: [bool; FOLDS],
    folds: u32,
    of: impl Fn(usize) -> f64,
) -> Option<StandardError> {
    let values: Vec<f64> = (0..FOLDS).filter(|&fold| present[fold]).map(of).collect();
    jackknife::error(&values, folds)
}

impl Worked {
    /// A quotient of sums, set against the same of all levels.
    pub fn ratio(folds: &Folds, overall: Option<&Folds>) -> Worked {
        Worked {
            figure: Replicates::ratio(folds),
            overall: overall.map(Replicates::ratio),
            n: total(folds).trials,
            folds: number(folds, |fold| fold.trials > 0),
            event_folds: number(folds, |fold| fold.events > 0),
            covered: None,
        }
    }

    /// Loss risk standardised to all held turns (of the kind, where one is given) over the
    /// strata of the cube that the split leaves. Strata the cell lacks are left out.
    pub fn standardised(cell: &Strata, all: &Strata, split: Split, kind: Option<Kind>) -> Worked {
        let (cell, all) = (Table::of(cell, split, kind), Table::of(all, split, kind));
        let mut sum = [Ratio::default(); FOLDS];
        for stratum in &cell.strata {
            for (sum, fold) in sum.iter_mut().zip(stratum) {
                sum.add(fold.events, fold.trials);
            }
        }
        let both = |fold: Option<usize>| weighted(&cell, &all, fold);
        let whole = both(None);
        let without: Vec<(f64, f64, f64)> = (0..FOLDS).map(|fold| both(Some(fold))).collect();
        let present = all.present();
        let take = |of: fn(&(f64, f64, f64)) -> f64| Replicates {
            whole: of(&whole),
            without: std::array::from_fn(|fold| of(&without[fold])),
            present,
        };
        Worked {
            figure: take(|all| all.0),
            overall: Some(take(|all| all.1)),
            n: total(&sum).trials,
            folds: number(&sum, |fold| fold.trials > 0),
            event_folds: number(&sum, |fold| fold.events > 0),
            covered: Some(whole.2).filter(|share| share.is_finite()),
        }
    }
}

/// Strata made as coarse as the split asks, with their sums.
struct Table {
    strata: Vec<Folds>,
    totals: Vec<Ratio>,
}

impl Table {
    fn of(fine: &Strata, split: Split, kind: Option<Kind>) -> Table {
        let mut strata = vec![[Ratio::default(); FOLDS]; STRATA];
        for (number, folds) in fine.iter().enumerate() {
            if kind.is_none_or(|kind| split == Split::Kind || kind_of(number) == kind) {
                for (sum, fold) in strata[coarse(number, split)].iter_mut().zip(folds) {
                    sum.add(fold.events, fold.trials);
                }
            }
        }
        Table {
            totals: strata.iter().map(total).collect(),
            strata,
        }
    }

    fn without(&self, stratum: usize, fold: Option<usize>) -> Ratio {
        let sum = self.totals[stratum];
        fold.map_or(sum, |fold| sum.without(self.strata[stratum][fold]))
    }

    fn present(&self) -> [bool; FOLDS] {
        std::array::from_fn(|fold| self.strata.iter().any(|stratum| stratum[fold].trials > 0))
    }
}

/// Standardised risk of the cell, risk of everything in the strata the cell has, and the
/// share of the standard population in them.
fn weighted(cell: &Table, all: &Table, fold: Option<usize>) -> (f64, f64, f64) {
    let mut expected = Expected::default();
    let (mut events, mut weight, mut whole) = (0u64, 0u64, 0u64);
    for stratum in 0..STRATA {
        let (here, standard) = (cell.without(stratum, fold), all.without(stratum, fold));
        whole += standard.trials;
        if here.trials > 0 {
            let trials = standard.trials as f64;
            expected.add(trials, trials * here.value());
            events += standard.events;
            weight += standard.trials;
        }
    }
    let total = weight as f64;
    (expected.rate(), events as f64 / total, total / whole as f64)
}

fn number(folds: &Folds, is: impl Fn(&Ratio) -> bool) -> u32 {
    folds.iter().filter(|fold| is(fold)).count() as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folds(counts: &[(u64, u64)]) -> Folds {
        let mut folds = [Ratio::default(); FOLDS];
        for (fold, (events, trials)) in folds.iter_mut().zip(counts) {
            fold.add(*events, *trials);
        }
        folds
    }

    /// Three folds by hand: 1/10, 2/10 and 3/20 give 6/40; without each 5/30, 4/30, 3/20.
    #[test]
    fn a_ratio_by_hand() {
        let got = Worked::ratio(&folds(&[(1, 10), (2, 10), (3, 20)]), None);
        assert!((got.figure.whole - 0.15).abs() < 1e-15);
        let without = [5.0 / 30.0, 4.0 / 30.0, 3.0 / 20.0];
        for (got, want) in got.figure.without.iter().zip(without) {
            assert!((got - want).abs() < 1e-15);
        }
        assert_eq!((got.n, got.folds, got.event_folds), (40, 3, 3));
        let logs = without.map(f64::ln);
        let mean = logs.iter().sum::<f64>() / 3.0;
        let want = (logs.iter().map(|log| (log - mean).powi(2)).sum::<f64>() * 2.0 / 3.0).sqrt();
        let error = got.figure.error(Scale::Log, got.folds).unwrap();
        assert!((error.se - want).abs() < 1e-15);
        assert_eq!(error.df, 2);
    }

    /// Two strata: the cell loses 1 of 10 and 4 of 10, everything has 300 and 100 held turns
    /// there, and 600 more in a stratum the cell lacks: (300 × 0.1 + 100 × 0.4) / 400.
    #[test]
    fn a_standardised_risk_by_hand() {
        let none = [Ratio::default(); FOLDS];
        let (mut cell, mut all) = (vec![none; STRATA], vec![none; STRATA]);
        cell[0] = folds(&[(1, 10)]);
        cell[5] = folds(&[(4, 10)]);
        all[0] = folds(&[(30, 300)]);
        all[5] = folds(&[(50, 100)]);
        all[7] = folds(&[(600, 600)]);
        let got = Worked::standardised(&cell, &all, Split::Band, None);
        assert!((got.figure.whole - 0.175).abs() < 1e-15);
        assert!((got.overall.unwrap().whole - 0.2).abs() < 1e-15);
        assert!((got.covered.unwrap() - 0.4).abs() < 1e-15);
        // The cell's only fold left out leaves nothing.
        assert!(got.figure.without[0].is_nan());
    }

    /// Split by kind, knights and bishops of like phase and state are one stratum of the
    /// standard.
    #[test]
    fn a_split_takes_its_key_out_of_the_strata() {
        let none = [Ratio::default(); FOLDS];
        let (mut cell, mut all) = (vec![none; STRATA], vec![none; STRATA]);
        cell[0] = folds(&[(1, 10)]);
        all[0] = folds(&[(1, 10)]);
        all[24] = folds(&[(9, 90)]);
        let got = Worked::standardised(&cell, &all, Split::Kind, Some(Kind::Knight));
        assert!((got.covered.unwrap() - 1.0).abs() < 1e-15);
        let band = Worked::standardised(&cell, &all, Split::Band, None);
        assert!((band.covered.unwrap() - 0.1).abs() < 1e-15);
        let knights = Worked::standardised(&cell, &all, Split::Band, Some(Kind::Knight));
        assert!((knights.covered.unwrap() - 1.0).abs() < 1e-15);
    }
}
