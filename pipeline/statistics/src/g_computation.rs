//! Standardised risk ratio and risk difference of an exposure, by a model of the risk.
//!
//! The model gives every exposed row its risk, and the risk it would have without the
//! exposure and all else equal. The means of both over the exposed rows are compared:
//!
//! ```text
//! with = Σ w p(x, exposed) / Σ w,   without = Σ w p(x, not exposed) / Σ w
//! ```
//!
//! Both links of [`crate::glm`] are canonical, so that the mean risk with the exposure is the
//! rate observed, whatever the model. Only the other is modelled.
//!
//! The interval comes from the influence of each row on both means, summed by clusters: what
//! it adds to the coefficients, by the derivatives of the means (delta method), and what its
//! being in the sample adds to the mean of the risks.
//!
//! # This or direct standardisation?
//!
//! [`crate::standardise`] supposes nothing of how covariates combine, adds up part by part,
//! and keeps counts alone. It is the first choice. It leaves out exposed rows of strata
//! without any other row, and says how many. Where that is more than a few in a hundred, use
//! the model here: it uses every row, at the price that covariates act independently on the
//! scale of the link. Show one of them, and say which.
//!
//! On simulated rows, 5,000 exposed with 266 events beside 3 million others of weight 16 in
//! 51,000 strata of eight covariates, 3 exposed rows were left out; the ratios were 2.25 (1.99
//! to 2.54) and 2.23 (1.99 to 2.51). Counting and jackknife of 64 folds took 0.57 s, the model
//! 0.2 s one way and 0.3 s two ways beside 0.3 s of rows to build, each on one processor.
//!
//! Sources: Robins 1986, Stefanski and Boos 2002, in full in [`crate::sources`].

use crate::clusters::{ClusterCovariance, Clustering, ScoreSums};
use crate::fit::FitError;
use crate::glm::{Link, Rows, maximum, predictor};
use crate::interval::Interval;
use crate::risk::Scale;

/// A standardised comparison over the exposed rows.
#[derive(Debug, Clone, PartialEq)]
pub struct Standardised {
    /// Mean risk of the exposed rows: the rate observed.
    pub with: f64,
    /// Mean risk that they would have without the exposure.
    pub without: f64,
    /// Weight of the exposed rows.
    pub exposed: f64,
    /// Clustered covariance of log `with`, log `without`, log ratio and difference.
    covariance: ClusterCovariance,
}

impl Standardised {
    /// Risk ratio.
    pub fn ratio(&self) -> f64 {
        self.with / self.without
    }

    /// Risk difference.
    pub fn difference(&self) -> f64 {
        self.with - self.without
    }

    /// Interval of the risk ratio; `None` where the clusters show no spread.
    pub fn ratio_interval(&self, level: f64) -> Option<Interval> {
        self.covariance
            .error(2)?
            .interval(Scale::Log, self.ratio(), level)
    }

    /// Interval of the risk difference; `None` where the clusters show no spread.
    pub fn difference_interval(&self, level: f64) -> Option<Interval> {
        self.covariance
            .error(3)?
            .interval(Scale::Plain, self.difference(), level)
    }

    /// Interval of the risk without the exposure; `None` where the clusters show no spread.
    pub fn without_interval(&self, level: f64) -> Option<Interval> {
        self.covariance
            .error(1)?
            .interval(Scale::Log, self.without, level)
    }
}

/// Means over the exposed, and how the coefficients move them.
struct Means {
    weight: f64,
    with: f64,
    without: f64,
    /// Derivatives by the coefficients.
    slopes: [Vec<f64>; 2],
    /// Risk of each pattern as it is, and without the exposure.
    risks: Vec<(f64, f64)>,
}

/// Standardises to the exposed rows: those where `exposure`, a covariate counted from 0 and
/// without the intercept, is 1.
///
/// # Errors
///
/// [`FitError`] where the model has no estimate, [`FitError::NoInformation`] where no row is
/// exposed.
///
/// # Panics
///
/// Where there is no such covariate.
pub fn over_the_exposed(
    rows: &Rows,
    exposure: usize,
    link: Link,
    clustering: Clustering,
) -> Result<Standardised, FitError> {
    let column = exposure + 1;
    assert!(column < rows.columns, "number of the exposure");
    let fitted = maximum(rows, link)?;
    let means = means(rows, column, link, &fitted.at);
    if !(means.weight > 0.0 && means.with > 0.0) {
        return Err(FitError::NoInformation);
    }
    let moves = means
        .slopes
        .each_ref()
        .map(|slopes| fitted.covariance.times(slopes));
    let covariance =
        influence(rows, column, &means, &moves, clustering).ok_or(FitError::OneCluster)?;
    Ok(Standardised {
        with: means.with,
        without: means.without,
        exposed: means.weight,
        covariance,
    })
}

fn means(rows: &Rows, column: usize, link: Link, beta: &[f64]) -> Means {
    let mut means = Means {
        weight: 0.0,
        with: 0.0,
        without: 0.0,
        slopes: [vec![0.0; rows.columns], vec![0.0; rows.columns]],
        risks: Vec::with_capacity(rows.patterns.len() / rows.columns),
    };
    for (design, (trials, _)) in rows.designs().zip(rows.totals()) {
        let predictor = predictor(design, beta);
        let with = link.risk(predictor);
        let without = link.risk(predictor - design[column] * beta[column]);
        means.risks.push((with, without));
        if !is_exposed(design, column) {
            continue;
        }
        means.weight += trials;
        means.with += trials * with;
        means.without += trials * without;
        let [slopes_with, slopes_without] = &mut means.slopes;
        for (at, x) in design.iter().enumerate() {
            slopes_with[at] += trials * link.slope(with) * x;
            if at != column {
                slopes_without[at] += trials * link.slope(without) * x;
            }
        }
    }
    for sum in means.slopes.iter_mut().flatten() {
        *sum /= means.weight;
    }
    means.with /= means.weight;
    means.without /= means.weight;
    means
}

/// Sums each row's influence on both logarithms, the log ratio and the difference.
fn influence(
    rows: &Rows,
    column: usize,
    means: &Means,
    moves: &[Vec<f64>; 2],
    clustering: Clustering,
) -> Option<ClusterCovariance> {
    // What one unit of a pattern's residual adds to both means.
    let by_pattern: Vec<[f64; 2]> = rows
        .designs()
        .map(|design| moves.each_ref().map(|moves| predictor(design, moves)))
        .collect();
    let mut sums = ScoreSums::new(4, clustering);
    for row in &rows.rows {
        let at = row.pattern as usize;
        let (risk, without) = means.risks[at];
        let residual = row.events - row.trials * risk;
        let mut change = by_pattern[at].map(|by| by * residual);
        let design = &rows.patterns[at * rows.columns..(at + 1) * rows.columns];
        if is_exposed(design, column) {
            let share = row.trials / means.weight;
            change[0] += share * (risk - means.with);
            change[1] += share * (without - means.without);
        }
        let [with, without] = change;
        let logs = [with / means.with, without / means.without];
        sums.add(
            row.clusters,
            &[logs[0], logs[1], logs[0] - logs[1], with - without],
        );
    }
    // Four figures of two: the covariance is not of full rank and need not be.
    sums.of_influence()
}

fn is_exposed(design: &[f64], column: usize) -> bool {
    design[column] == 1.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::glm::Row;

    /// Exposure alone: ratio and difference are those of the two-by-two table, and so are
    /// their variances, times 200/199: Katz's and p q / n of both groups.
    #[test]
    fn two_by_two() {
        let mut rows = Rows::new(1);
        let groups = [rows.pattern(&[1.0]), rows.pattern(&[0.0])];
        let mut cluster = 0;
        for (pattern, events) in groups.into_iter().zip([20, 10]) {
            for at in 0..100 {
                let events = f64::from(u32::from(at < events));
                rows.push(Row {
                    pattern,
                    clusters: [cluster, 0],
                    trials: 1.0,
                    events,
                });
                cluster += 1;
            }
        }
        for link in [Link::Logit, Link::Log] {
            let got = over_the_exposed(&rows, 0, link, Clustering::OneWay).unwrap();
            assert!((got.ratio() - 2.0).abs() < 1e-10);
            assert!((got.difference() - 0.1).abs() < 1e-10);
            let katz = 1.0 / 20.0 - 1.0 / 100.0 + 1.0 / 10.0 - 1.0 / 100.0;
            let plain = 0.2 * 0.8 / 100.0 + 0.1 * 0.9 / 100.0;
            let more = 200.0 / 199.0;
            assert!((got.covariance.matrix.get(2, 2) - katz * more).abs() < 1e-10);
            assert!((got.covariance.matrix.get(3, 3) - plain * more).abs() < 1e-10);
        }
    }

    #[test]
    fn none_exposed() {
        let mut rows = Rows::new(2);
        for at in 0u32..12 {
            let pattern = rows.pattern(&[0.0, f64::from(at % 3)]);
            let events = f64::from(at % 2);
            rows.push(Row {
                pattern,
                clusters: [at, 0],
                trials: 1.0,
                events,
            });
        }
        let got = over_the_exposed(&rows, 0, Link::Logit, Clustering::OneWay);
        assert_eq!(got, Err(FitError::Collinear { covariate: 1 }));
    }
}
