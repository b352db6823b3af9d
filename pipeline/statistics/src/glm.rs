//! Generalised linear models of a yes-or-no outcome: logit link, or log link by Poisson's
//! likelihood. Rows have weights and belong to clusters, one way or two ways.
//!
//! Rows refer to a pattern, their covariates. Few patterns serve many rows, and a row may
//! stand for many observations of one pattern and one pair of clusters: a likelihood needs
//! only trials and events of a pattern, a clustered standard error only those of a pattern in
//! a cluster.
//!
//! With the log link the coefficients are logarithms of risk ratios. Poisson's likelihood is
//! not that of a yes-or-no outcome; its estimate is consistent all the same, and the
//! clustered standard errors allow for it.
//!
//! Weights are those of a sample: a row drawn with the chance 1/16 has weight 16. The
//! model's own covariance takes them for numbers of observations, so it is too small; the
//! clustered one is right.
//!
//! Sources: McCullagh and Nelder 1989 (chapters 4 and 6, from memory), Zou 2004, Binder 1983,
//! in full in [`crate::sources`].

use crate::clusters::{Clustering, ScoreSums};
use crate::fit::{Fit, FitError};
use crate::newton::{self, Derivatives, Maximum};

/// How the covariates bear on the risk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Link {
    /// On the logarithm of its odds; the likelihood is binomial.
    Logit,
    /// On its logarithm; the likelihood is Poisson's.
    Log,
}

/// One row, or several of one pattern and one pair of clusters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Number of the pattern, as [`Rows::pattern`] gave it.
    pub pattern: u32,
    /// The two clusters; the second is not looked at where clustering is one way.
    pub clusters: [u32; 2],
    /// Weight of the observations.
    pub trials: f64,
    /// Weight of those with the outcome.
    pub events: f64,
}

/// Rows and their patterns.
#[derive(Debug, Clone)]
pub struct Rows {
    /// Covariates of a pattern, with the intercept.
    pub(crate) columns: usize,
    /// Pattern by pattern: 1, then its covariates.
    pub(crate) patterns: Vec<f64>,
    pub(crate) rows: Vec<Row>,
}

impl Rows {
    /// No row yet. The intercept is not a covariate: it is always there.
    pub fn new(covariates: usize) -> Rows {
        Rows {
            columns: covariates + 1,
            patterns: Vec::new(),
            rows: Vec::new(),
        }
    }

    /// Adds a pattern, and gives its number. Two of the same covariates are no error.
    ///
    /// # Panics
    ///
    /// Where the number of covariates differs.
    pub fn pattern(&mut self, covariates: &[f64]) -> u32 {
        assert_eq!(
            covariates.len() + 1,
            self.columns,
            "covariates of a pattern"
        );
        let number = self.patterns.len() / self.columns;
        self.patterns.push(1.0);
        self.patterns.extend_from_slice(covariates);
        number as u32
    }

    /// Adds a row.
    ///
    /// # Panics
    ///
    /// Where its pattern is unknown.
    pub fn push(&mut self, row: Row) {
        let known = self.patterns.len() / self.columns;
        assert!((row.pattern as usize) < known, "pattern of a row");
        self.rows.push(row);
    }

    /// Adds the rows and patterns of another piece of the data.
    ///
    /// # Panics
    ///
    /// Where the number of covariates differs.
    pub fn append(&mut self, other: &Rows) {
        assert_eq!(self.columns, other.columns, "covariates of both pieces");
        let before = (self.patterns.len() / self.columns) as u32;
        self.patterns.extend_from_slice(&other.patterns);
        self.rows.extend(other.rows.iter().map(|row| Row {
            pattern: row.pattern + before,
            ..*row
        }));
    }

    /// Trials and events of each pattern.
    pub(crate) fn totals(&self) -> Vec<(f64, f64)> {
        let mut totals = vec![(0.0, 0.0); self.patterns.len() / self.columns];
        for row in &self.rows {
            let (trials, events) = &mut totals[row.pattern as usize];
            *trials += row.trials;
            *events += row.events;
        }
        totals
    }

    /// Covariates of each pattern, 1 for the intercept first.
    pub(crate) fn designs(&self) -> std::slice::ChunksExact<'_, f64> {
        self.patterns.chunks_exact(self.columns)
    }
}

impl Link {
    /// The risk at a value of the linear predictor.
    pub fn risk(self, predictor: f64) -> f64 {
        match self {
            Link::Logit => 1.0 / (1.0 + (-predictor).exp()),
            Link::Log => predictor.exp(),
        }
    }

    /// Derivative of the risk by the linear predictor; also the variance of the outcome by
    /// the likelihood, since both links are canonical.
    pub fn slope(self, risk: f64) -> f64 {
        match self {
            Link::Logit => risk * (1.0 - risk),
            Link::Log => risk,
        }
    }

    fn log_likelihood(self, predictor: f64, risk: f64, trials: f64, events: f64) -> f64 {
        match self {
            // log (1 − risk) = −log (1 + exp predictor), written so that exp stays a number.
            Link::Logit => {
                let log_of_sum = predictor.max(0.0) + (-predictor.abs()).exp().ln_1p();
                events * predictor - trials * log_of_sum
            }
            Link::Log => events * predictor - trials * risk,
        }
    }

    fn start(self, rate: f64) -> f64 {
        match self {
            Link::Logit => (rate / (1.0 - rate)).ln(),
            Link::Log => rate.ln(),
        }
    }
}

/// βᵀx.
pub(crate) fn predictor(design: &[f64], beta: &[f64]) -> f64 {
    design.iter().zip(beta).map(|(x, b)| x * b).sum()
}

/// Fits the coefficients: the intercept first, then the covariates in their order. Numbers of
/// covariates in errors count the intercept as 0.
///
/// # Errors
///
/// [`FitError`] where there is no estimate: the outcome never or always comes, a covariate
/// follows from others, or separation.
pub fn fit(rows: &Rows, link: Link, clustering: Clustering) -> Result<Fit, FitError> {
    let found = maximum(rows, link)?;
    let mut sums = ScoreSums::new(rows.columns, clustering);
    let risks: Vec<f64> = rows
        .designs()
        .map(|design| link.risk(predictor(design, &found.at)))
        .collect();
    let mut score = vec![0.0; rows.columns];
    for row in &rows.rows {
        let pattern = row.pattern as usize;
        let residual = row.events - row.trials * risks[pattern];
        let design = &rows.patterns[pattern * rows.columns..(pattern + 1) * rows.columns];
        for (score, x) in score.iter_mut().zip(design) {
            *score = residual * x;
        }
        sums.add(row.clusters, &score);
    }
    Fit::of(found, &sums)
}

/// The maximum of the likelihood, without the clustered covariance.
pub(crate) fn maximum(rows: &Rows, link: Link) -> Result<Maximum, FitError> {
    let totals = rows.totals();
    let trials: f64 = totals.iter().map(|total| total.0).sum();
    let events: f64 = totals.iter().map(|total| total.1).sum();
    if !(events > 0.0 && (events < trials || link == Link::Log)) {
        return Err(FitError::NoInformation);
    }
    let mut start = vec![0.0; rows.columns];
    start[0] = link.start(events / trials);
    newton::maximise(start, |beta, out: &mut Derivatives| {
        for (design, &(trials, events)) in rows.designs().zip(&totals) {
            if trials == 0.0 {
                continue;
            }
            let predictor = predictor(design, beta);
            let risk = link.risk(predictor);
            out.value += link.log_likelihood(predictor, risk, trials, events);
            out.information.add_outer(design, trials * link.slope(risk));
            let residual = events - trials * risk;
            for (sum, x) in out.gradient.iter_mut().zip(design) {
                *sum += residual * x;
            }
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One covariate of two values: 20 of 100 against 10 of 100, a cluster a row.
    fn two_groups(events: [f64; 2]) -> Rows {
        let mut rows = Rows::new(1);
        let groups = [rows.pattern(&[0.0]), rows.pattern(&[1.0])];
        let mut cluster = 0;
        for (pattern, events) in groups.into_iter().zip(events) {
            for (count, outcome) in [(events, 1.0), (100.0 - events, 0.0)] {
                for _ in 0..count as u32 {
                    rows.push(Row {
                        pattern,
                        clusters: [cluster, 0],
                        trials: 1.0,
                        events: outcome,
                    });
                    cluster += 1;
                }
            }
        }
        rows
    }

    /// With independent rows the sandwich of a saturated model is Katz's variance for the
    /// log link and Woolf's for the logit, times 200/199.
    #[test]
    fn two_by_two() {
        let rows = two_groups([10.0, 20.0]);
        let log = fit(&rows, Link::Log, Clustering::OneWay).unwrap();
        assert!((log.ratio(1) - 2.0).abs() < 1e-10);
        let katz = 1.0 / 20.0 - 1.0 / 100.0 + 1.0 / 10.0 - 1.0 / 100.0;
        assert!((log.clustered.matrix.get(1, 1) - katz * 200.0 / 199.0).abs() < 1e-10);
        let logit = fit(&rows, Link::Logit, Clustering::OneWay).unwrap();
        assert!((logit.ratio(1) - 20.0 * 90.0 / (80.0 * 10.0)).abs() < 1e-9);
        let woolf = 1.0 / 20.0 + 1.0 / 80.0 + 1.0 / 10.0 + 1.0 / 90.0;
        assert!((logit.clustered.matrix.get(1, 1) - woolf * 200.0 / 199.0).abs() < 1e-9);
        assert!((logit.covariance.get(1, 1) - woolf).abs() < 1e-9);
    }

    #[test]
    fn outcome_that_never_comes() {
        let none = two_groups([0.0, 0.0]);
        assert_eq!(
            fit(&none, Link::Log, Clustering::OneWay),
            Err(FitError::NoInformation)
        );
        let apart = two_groups([0.0, 20.0]);
        for link in [Link::Log, Link::Logit] {
            let got = fit(&apart, link, Clustering::OneWay);
            assert!(
                matches!(got, Err(FitError::Separated { .. })),
                "{link:?} {got:?}"
            );
        }
        let mut same = Rows::new(1);
        same.pattern(&[1.0]);
        for cluster in 0..4 {
            let events = f64::from(cluster % 2);
            same.push(Row {
                pattern: 0,
                clusters: [cluster, 0],
                trials: 1.0,
                events,
            });
        }
        let got = fit(&same, Link::Logit, Clustering::OneWay);
        assert!(matches!(got, Err(FitError::Collinear { .. })), "{got:?}");
    }

    #[test]
    fn covariate_or_weight_that_is_not_a_number() {
        for (x, trials) in [(f64::NAN, 1.0), (f64::INFINITY, 1.0), (1.0, f64::NAN)] {
            let mut rows = two_groups([10.0, 20.0]);
            let pattern = rows.pattern(&[x]);
            rows.push(Row {
                pattern,
                clusters: [0, 0],
                trials,
                events: 1.0,
            });
            for link in [Link::Log, Link::Logit] {
                let got = fit(&rows, link, Clustering::OneWay);
                assert!(got.is_err(), "{x} {trials} {link:?} {got:?}");
            }
        }
    }

    /// A row of weight 16 is sixteen rows of one cluster.
    #[test]
    fn weights_and_pieces() {
        let (mut once, mut often) = (Rows::new(1), Rows::new(1));
        for at in 0u32..40 {
            let x = f64::from(at % 4);
            let clusters = [at % 13, at % 5];
            let events = f64::from(u32::from(at * 7 % 10 < 3 + at % 4));
            let mut piece = Rows::new(1);
            let pattern = piece.pattern(&[x]);
            piece.push(Row {
                pattern,
                clusters,
                trials: 16.0,
                events: 16.0 * events,
            });
            once.append(&piece);
            let pattern = often.pattern(&[x]);
            for _ in 0..16 {
                often.push(Row {
                    pattern,
                    clusters,
                    trials: 1.0,
                    events,
                });
            }
        }
        for link in [Link::Log, Link::Logit] {
            let once = fit(&once, link, Clustering::TwoWay).unwrap();
            let often = fit(&often, link, Clustering::TwoWay).unwrap();
            assert!((once.coefficients[1] - often.coefficients[1]).abs() < 1e-9);
            let difference = once.clustered.matrix.get(1, 1) - often.clustered.matrix.get(1, 1);
            assert!(difference.abs() < 1e-9);
        }
    }
}
