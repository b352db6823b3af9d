//! What a fitted model gives: coefficients and their covariance.

use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::clusters::{ClusterCovariance, ScoreSums};
pub use crate::fit_error::FitError;
use crate::interval::{Interval, StandardError};
use crate::newton::Maximum;
use crate::risk::Scale;
use crate::symmetric::Symmetric;

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Coefficients.
    pub coefficients: Vec<f64>,
    /// Their covariance by the model: the inverse of the information. It takes observations
    /// for independent and weights for numbers of observations.
    pub covariance: Symmetric,
    /// Their covariance by clusters: the one to show.
    pub clustered: ClusterCovariance,
    /// Log-likelihood at the estimate.
    pub log_likelihood: f64,
    /// Log-likelihood at the start: without covariates.
    pub null_log_likelihood: f64,
    /// Newton steps taken.
    pub steps: u32,
}

impl Fit {
    /// Of a maximum of the likelihood and the sums of its scores by clusters.
    pub(crate) fn of(found: Maximum, scores: &ScoreSums) -> Result<Fit, FitError> {
        let clustered = scores
            .covariance(&found.covariance)
            .ok_or(FitError::OneCluster)?;
        Ok(Fit {
            coefficients: found.at,
            covariance: found.covariance,
            clustered,
            log_likelihood: found.value,
            null_log_likelihood: found.start,
            steps: found.steps,
        })
    }

    /// Clustered standard error of a coefficient; `None` where the clusters show no spread.
    pub fn error(&self, covariate: usize) -> Option<StandardError> {
        self.clustered.error(covariate)
    }

    /// e to the coefficient: an odds ratio or a rate ratio.
    pub fn ratio(&self, covariate: usize) -> f64 {
        self.coefficients[covariate].exp()
    }

    /// Clustered interval of [`Fit::ratio`].
    pub fn interval(&self, covariate: usize, level: f64) -> Option<Interval> {
        self.error(covariate)?
            .interval(Scale::Log, self.ratio(covariate), level)
    }

    /// Two-sided p-value of a coefficient by its clustered standard error and Student's t.
    pub fn p(&self, covariate: usize) -> Option<f64> {
        p(self.coefficients[covariate], self.error(covariate)?)
    }
}

/// Two-sided p-value of an estimate against 0.
pub fn p(estimate: f64, error: StandardError) -> Option<f64> {
    let t = StudentsT::new(0.0, 1.0, f64::from(error.df)).ok()?;
    Some(2.0 * t.sf((estimate / error.se).abs()))
}
