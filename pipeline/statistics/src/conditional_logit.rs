//! Conditional logistic regression for matched sets.
//!
//! A set holds rows that share everything that belongs to the set: whatever is constant in
//! it, known or unknown, drops out of the likelihood. Sets without a case, and sets of cases
//! alone, hold no information and are counted only.
//!
//! The estimate maximises the exact conditional likelihood (see the file `matched_set.rs`). Its
//! standard errors come from the score of each set, summed by clusters of sets
//! (see [`crate::clusters`]): sets of one game are not independent.
//!
//! Sources: Breslow and Day 1980 (chapter 7, from memory), Cox 1972, in full in
//! [`crate::sources`].
//!
//! ```
//! use hobble_statistics::clusters::Clustering;
//! use hobble_statistics::conditional_logit::{MatchedSets, fit};
//!
//! // Pairs: in 30 the case alone is exposed, in 10 the control alone.
//! let mut sets = MatchedSets::new(1);
//! for pair in 0..40 {
//!     let exposed = if pair < 30 { [1.0, 0.0] } else { [0.0, 1.0] };
//!     sets.push([pair, 0], &[true, false], &exposed);
//! }
//! let fitted = fit(&sets, Clustering::OneWay)?;
//! assert!((fitted.ratio(0) - 3.0).abs() < 1e-9);
//! # Ok::<(), hobble_statistics::fit::FitError>(())
//! ```

use crate::clusters::{Clustering, ScoreSums};
use crate::fit::{Fit, FitError};
use crate::matched_set::{Scratch, add_cases, add_one_case};
use crate::newton::{self, Derivatives};

/// Most rows of a set: beyond it the number of choices can pass the largest number.
pub const MOST_ROWS: usize = 1000;

/// Matched sets, pushed one after another.
#[derive(Debug, Clone)]
pub struct MatchedSets {
    covariates: usize,
    /// For one case the controls less the case; for more all rows less their mean.
    values: Vec<f64>,
    sets: Vec<Set>,
    /// What was pushed.
    pub counts: Counts,
}

/// How many sets and rows there are.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Sets with a case and a control.
    pub sets: u64,
    /// Their rows.
    pub rows: u64,
    /// Their cases.
    pub cases: u64,
    /// Sets without a case or without a control, which hold no information.
    pub sets_left_out: u64,
}

#[derive(Debug, Clone, Copy)]
struct Set {
    /// Number of rows kept in `values`.
    kept: u32,
    cases: u32,
    clusters: [u32; 2],
}

impl MatchedSets {
    /// No set yet.
    pub fn new(covariates: usize) -> MatchedSets {
        MatchedSets {
            covariates,
            values: Vec::new(),
            sets: Vec::new(),
            counts: Counts::default(),
        }
    }

    /// Adds a set: its two clusters (the second is not looked at where clustering is one
    /// way), which of its rows are cases, and its covariates row by row.
    ///
    /// # Panics
    ///
    /// Where `covariates` is not as long as there are rows times covariates, or there are more
    /// than [`MOST_ROWS`] rows.
    pub fn push(&mut self, clusters: [u32; 2], is_case: &[bool], covariates: &[f64]) {
        let size = self.covariates;
        assert_eq!(
            covariates.len(),
            is_case.len() * size,
            "covariates of each row"
        );
        assert!(is_case.len() <= MOST_ROWS, "rows of a set");
        let cases = is_case.iter().filter(|case| **case).count();
        let controls = is_case.len() - cases;
        if cases == 0 || controls == 0 {
            self.counts.sets_left_out += 1;
            return;
        }
        self.counts.sets += 1;
        self.counts.rows += is_case.len() as u64;
        self.counts.cases += cases as u64;
        // To choose the cases by β is to choose the controls by −β, and fewer are quicker.
        let (few, sign) = if controls < cases {
            (false, -1.0)
        } else {
            (true, 1.0)
        };
        let chosen = cases.min(controls);
        let row = |at: usize| &covariates[at * size..(at + 1) * size];
        let reference = if chosen == 1 {
            let at = is_case.iter().position(|case| *case == few).unwrap_or(0);
            row(at).to_vec()
        } else {
            let mut mean = vec![0.0; size];
            for at in 0..is_case.len() {
                for (sum, x) in mean.iter_mut().zip(row(at)) {
                    *sum += x / is_case.len() as f64;
                }
            }
            mean
        };
        for wanted in [few, !few] {
            if wanted == few && chosen == 1 {
                continue;
            }
            for at in (0..is_case.len()).filter(|at| is_case[*at] == wanted) {
                let less = row(at)
                    .iter()
                    .zip(&reference)
                    .map(|(x, of)| sign * (x - of));
                self.values.extend(less);
            }
        }
        self.sets.push(Set {
            kept: (is_case.len() - usize::from(chosen == 1)) as u32,
            cases: chosen as u32,
            clusters,
        });
    }

    /// Adds the sets of another piece of the data.
    ///
    /// # Panics
    ///
    /// Where the number of covariates differs.
    pub fn append(&mut self, other: &MatchedSets) {
        assert_eq!(
            self.covariates, other.covariates,
            "covariates of both pieces"
        );
        self.values.extend_from_slice(&other.values);
        self.sets.extend_from_slice(&other.sets);
        self.counts.sets += other.counts.sets;
        self.counts.rows += other.counts.rows;
        self.counts.cases += other.counts.cases;
        self.counts.sets_left_out += other.counts.sets_left_out;
    }

    /// Adds each set to `out`, and hands its clusters and score to `each`.
    fn evaluate(
        &self,
        beta: &[f64],
        scratch: &mut Scratch,
        out: &mut Derivatives,
        mut each: impl FnMut([u32; 2], &[f64]),
    ) {
        let mut rest = self.values.as_slice();
        for set in &self.sets {
            let (rows, after) = rest.split_at(set.kept as usize * self.covariates);
            rest = after;
            if set.cases == 1 {
                add_one_case(rows, beta, scratch, out);
            } else {
                add_cases(rows, set.cases as usize, beta, scratch, out);
            }
            each(set.clusters, &scratch.score);
        }
    }
}

/// Fits the log odds ratios.
///
/// # Errors
///
/// [`FitError`] where there is no estimate: no set with a case and a control, a covariate
/// that never differs within a set or follows from others, or separation.
pub fn fit(sets: &MatchedSets, clustering: Clustering) -> Result<Fit, FitError> {
    if sets.sets.is_empty() || sets.covariates == 0 {
        return Err(FitError::NoInformation);
    }
    let mut scratch = Scratch::new(sets.covariates);
    let found = newton::maximise(vec![0.0; sets.covariates], |beta, out| {
        sets.evaluate(beta, &mut scratch, out, |_, _| ());
    })?;
    let mut sums = ScoreSums::new(sets.covariates, clustering);
    let mut again = Derivatives::zeros(sets.covariates);
    scratch.information = false;
    sets.evaluate(&found.at, &mut scratch, &mut again, |clusters, score| {
        sums.add(clusters, score);
    });
    Fit::of(found, &sums)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pairs(exposed_cases: u32, exposed_controls: u32, both: u32) -> MatchedSets {
        let mut sets = MatchedSets::new(1);
        for pair in 0..exposed_cases + exposed_controls + both {
            let exposed = if pair < exposed_cases {
                [1.0, 0.0]
            } else if pair < exposed_cases + exposed_controls {
                [0.0, 1.0]
            } else {
                [1.0, 1.0]
            };
            sets.push([pair, pair], &[true, false], &exposed);
        }
        sets
    }

    /// For pairs the estimate is the quotient of the discordant pairs and its variance the
    /// sum of their inverses (McNemar; Breslow and Day 1980, chapter 5).
    #[test]
    fn pairs_by_hand() {
        let fitted = fit(&pairs(30, 10, 7), Clustering::OneWay).unwrap();
        assert!((fitted.ratio(0) - 3.0).abs() < 1e-10);
        let variance = fitted.covariance.get(0, 0);
        assert!((variance - (1.0 / 30.0 + 1.0 / 10.0)).abs() < 1e-10);
        // Each pair its own cluster: Σ u² is 30/16 + 90/16, over the squared information 7.5.
        let robust = 47.0 / 46.0 * (120.0 / 16.0) / (7.5f64 * 7.5);
        assert!((fitted.clustered.matrix.get(0, 0) - robust).abs() < 1e-10);
        assert!(
            (fitted.log_likelihood
                - (30.0 * 0.75f64.ln() + 10.0 * 0.25f64.ln() + 7.0 * 0.5f64.ln()))
            .abs()
                < 1e-10
        );
    }

    #[test]
    fn separation_is_an_error() {
        let got = fit(&pairs(12, 0, 3), Clustering::OneWay);
        assert_eq!(got, Err(FitError::Separated { covariate: 0 }));
        let got = fit(&pairs(0, 12, 3), Clustering::OneWay);
        assert_eq!(got, Err(FitError::Separated { covariate: 0 }));
    }

    /// Neither of two covariates separates alone, their sum does.
    #[test]
    fn joint_separation_is_an_error() {
        let mut sets = MatchedSets::new(2);
        for (at, difference) in [[3.0, -1.0], [-1.0, 3.0], [2.0, -1.0], [-1.0, 2.0]]
            .iter()
            .enumerate()
        {
            sets.push(
                [at as u32, 0],
                &[true, false],
                &[difference[0], difference[1], 0.0, 0.0],
            );
        }
        let got = fit(&sets, Clustering::OneWay);
        assert!(matches!(got, Err(FitError::Separated { .. })), "{got:?}");
    }

    #[test]
    fn covariates_without_information() {
        assert_eq!(
            fit(&MatchedSets::new(1), Clustering::OneWay),
            Err(FitError::NoInformation)
        );
        let got = fit(&pairs(0, 0, 5), Clustering::OneWay);
        assert_eq!(got, Err(FitError::Collinear { covariate: 0 }));
        let mut sets = MatchedSets::new(2);
        for at in 0u32..20 {
            let x = f64::from(at % 3) - 1.0;
            sets.push([at, 0], &[true, false], &[x, 2.0 * x, 0.0, 0.0]);
        }
        let got = fit(&sets, Clustering::OneWay);
        assert!(matches!(got, Err(FitError::Collinear { .. })), "{got:?}");
    }

    #[test]
    fn covariate_that_is_not_a_number() {
        for value in [f64::NAN, f64::INFINITY] {
            let mut sets = pairs(30, 10, 0);
            sets.push([0, 0], &[true, false], &[1.0, value]);
            let got = fit(&sets, Clustering::OneWay);
            assert_eq!(got, Err(FitError::NotFinite));
        }
    }

    #[test]
    fn sets_without_case_or_control_are_counted() {
        let mut sets = pairs(30, 10, 0);
        sets.push([0, 0], &[true, true], &[1.0, 0.0]);
        sets.push([0, 0], &[false], &[1.0]);
        sets.push([0, 0], &[], &[]);
        assert_eq!(
            sets.counts,
            Counts {
                sets: 40,
                rows: 80,
                cases: 40,
                sets_left_out: 3
            }
        );
        let with = fit(&sets, Clustering::OneWay);
        assert_eq!(with, fit(&pairs(30, 10, 0), Clustering::OneWay));
    }

    /// All pieces at once, in two pieces, and with cases and controls exchanged.
    #[test]
    fn pieces_and_exchange() {
        let row = |set: u32, at: u32| f64::from(set * 7 % 11 + at * set % 5) / 3.0;
        let (mut all, mut exchanged) = (MatchedSets::new(2), MatchedSets::new(2));
        let mut pieces = [MatchedSets::new(2), MatchedSets::new(2)];
        for set in 0u32..60 {
            let rows: Vec<f64> = (0..4).flat_map(|at| [row(set, at), row(at, set)]).collect();
            let cases: Vec<bool> = (0..4).map(|at| (set + at * at) % 4 < 1 + set % 3).collect();
            let controls: Vec<bool> = cases.iter().map(|case| !case).collect();
            all.push([set % 20, set % 7], &cases, &rows);
            pieces[set as usize / 30].push([set % 20, set % 7], &cases, &rows);
            exchanged.push([set % 20, set % 7], &controls, &rows);
        }
        let whole = fit(&all, Clustering::TwoWay).unwrap();
        let [mut first, second] = pieces;
        first.append(&second);
        assert_eq!(fit(&first, Clustering::TwoWay).unwrap(), whole);
        let turned = fit(&exchanged, Clustering::TwoWay).unwrap();
        for at in 0..2 {
            assert!((turned.coefficients[at] + whole.coefficients[at]).abs() < 1e-9);
            let difference =
                turned.clustered.matrix.get(at, at) - whole.clustered.matrix.get(at, at);
            assert!(difference.abs() < 1e-9);
        }
    }
}
