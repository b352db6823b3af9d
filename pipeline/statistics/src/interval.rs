//! Figures and intervals: what every estimator gives.

use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, StudentsT};

pub use crate::bounds::Bounds;
use crate::quantile;
use crate::risk::Scale;

/// Confidence level of every interval the program shows.
pub const LEVEL: f64 = 0.95;

/// An interval, with what it was made from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    /// Lower bound.
    pub low: f64,
    /// Upper bound.
    pub high: f64,
    /// Standard error on the interval's own scale (logit, log or plain); `null` for Wilson
    /// and Newcombe, which have none.
    pub se: Option<f64>,
    /// Degrees of freedom of the t quantile; `null` where the normal quantile is used.
    pub df: Option<u32>,
}

/// A figure with its interval by the jackknife.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// The figure.
    pub value: Option<f64>,
    /// Its interval.
    pub jackknife: Option<Interval>,
}

/// A standard error on some scale, with the degrees of freedom it was estimated with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandardError {
    /// Standard error; above 0.
    pub se: f64,
    /// Degrees of freedom; at least 1.
    pub df: u32,
}

impl StandardError {
    /// `None` without degrees of freedom, and where the error is 0 or not a number: no spread
    /// at all means that the groups left out do not matter to it, not that the figure is certain.
    pub fn new(se: f64, df: u32) -> Option<StandardError> {
        (se > 0.0 && df > 0).then_some(StandardError { se, df })
    }

    /// A standard error so many times as large.
    pub fn times(self, factor: f64) -> StandardError {
        StandardError {
            se: self.se * factor,
            df: self.df,
        }
    }

    /// Two-sided p-value of a difference on the error's scale being 0, by Student's t.
    pub fn p(self, difference: f64) -> Option<f64> {
        let t = (difference / self.se).abs();
        let distribution = StudentsT::new(0.0, 1.0, f64::from(self.df)).ok()?;
        Some(2.0 * distribution.sf(t)).filter(|p| p.is_finite())
    }

    /// The interval by the t quantile with `level` between its bounds: `whole` ± t × `se`,
    /// worked out on `scale`, which is that of the error, and turned back.
    ///
    /// `None` where `whole` has no place on the scale.
    pub fn interval(self, scale: Scale, whole: f64, level: f64) -> Option<Interval> {
        let bounds = scale.around(whole, quantile::student(level, self.df) * self.se)?;
        Some(Interval {
            low: bounds.low,
            high: bounds.high,
            se: Some(self.se),
            df: Some(self.df),
        })
    }
}

/// The figure, where it exists.
pub fn existing(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// t(0.975, 7) = 2.364624 in every table; on the log scale the bounds are quotients.
    #[test]
    fn student_by_hand() {
        let error = StandardError::new(0.1, 7).unwrap();
        let plain = error.interval(Scale::Plain, 0.5, 0.95).unwrap();
        assert!((plain.high - (0.5 + 0.236_462_4)).abs() < 1e-7);
        assert_eq!((plain.se, plain.df), (Some(0.1), Some(7)));
        let log = error.interval(Scale::Log, 2.0, 0.95).unwrap();
        assert!((log.low * log.high - 4.0).abs() < 1e-12);
    }

    /// Student's t on 10 degrees of freedom: 2.228 leaves 5% (scipy 1.17.1, `scipy.stats.t.ppf`).
    #[test]
    fn p_of_a_t() {
        let p = StandardError { se: 2.0, df: 10 }.p(-4.456).unwrap();
        assert!((p - 0.05).abs() < 1e-4);
    }

    #[test]
    fn no_interval() {
        assert_eq!(StandardError::new(0.0, 7), None);
        assert_eq!(StandardError::new(0.1, 0), None);
        assert_eq!(StandardError::new(f64::NAN, 7), None);
        let error = StandardError { se: 0.1, df: 7 };
        assert_eq!(error.interval(Scale::Log, 0.0, 0.95), None);
    }
}
