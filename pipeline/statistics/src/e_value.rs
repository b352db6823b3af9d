//! The E-value: how strong an unknown cause would have to be to explain a risk ratio away.
//!
//! For a risk ratio RR above 1 the E-value is RR + √(RR (RR − 1)): the least risk ratio that
//! an unknown cause must have with both the exposure and the outcome. A ratio below 1 is
//! inverted first. For an interval it is that of the bound nearer to 1; where the interval
//! holds 1 it is 1, since nothing has to be explained away.
//!
//! Source: VanderWeele and Ding 2017, in full in [`crate::sources`].

use crate::interval::Bounds;

/// E-values of an estimate and of its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EValue {
    /// Of the risk ratio.
    pub estimate: f64,
    /// Of the bound nearer to 1; 1 where the interval holds 1.
    pub limit: f64,
}

/// E-value of a risk ratio; `None` unless it is a number above 0.
pub fn of_ratio(ratio: f64) -> Option<f64> {
    if !(ratio > 0.0 && ratio.is_finite()) {
        return None;
    }
    let above = if ratio < 1.0 { 1.0 / ratio } else { ratio };
    Some(above + (above * (above - 1.0)).sqrt())
}

/// E-values of a risk ratio and its interval; `None` unless the ratio is a number above 0
/// within its bounds.
pub fn of_interval(ratio: f64, bounds: Bounds) -> Option<EValue> {
    if !(bounds.low <= ratio && ratio <= bounds.high) {
        return None;
    }
    let limit = if bounds.low <= 1.0 && 1.0 <= bounds.high {
        1.0
    } else if ratio > 1.0 {
        of_ratio(bounds.low)?
    } else {
        of_ratio(bounds.high)?
    };
    Some(EValue {
        estimate: of_ratio(ratio)?,
        limit,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(ratio: f64, low: f64, high: f64) -> Option<EValue> {
        of_interval(ratio, Bounds { low, high })
    }

    /// The worked example of the source: 10.73 (8.02 to 14.36) gives 20.95 and 15.52.
    #[test]
    fn published() {
        let got = of(10.73, 8.02, 14.36).unwrap();
        assert!((got.estimate - 20.95).abs() < 0.005);
        assert!((got.limit - 15.52).abs() < 0.005);
    }

    #[test]
    fn below_one_is_inverted() {
        let (below, above) = (of(0.5, 0.4, 0.8).unwrap(), of(2.0, 1.25, 2.5).unwrap());
        assert!((below.estimate - above.estimate).abs() < 1e-12);
        assert!((below.limit - above.limit).abs() < 1e-12);
    }

    #[test]
    fn interval_with_one() {
        assert_eq!(of(1.3, 0.9, 2.0).unwrap().limit, 1.0);
        assert_eq!(of(0.7, 0.4, 1.0).unwrap().limit, 1.0);
        assert_eq!(
            of(1.0, 0.5, 2.0),
            Some(EValue {
                estimate: 1.0,
                limit: 1.0
            })
        );
    }

    #[test]
    fn no_ratio() {
        for ratio in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(of_ratio(ratio), None);
        }
        assert_eq!(of(3.0, 1.0, 2.0), None);
        assert_eq!(of(2.0, f64::NAN, 3.0), None);
    }
}
