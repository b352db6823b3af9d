//! Maximum of a concave log-likelihood by Newton's method with step halving.

use crate::fit_error::FitError;
use crate::symmetric::{Curvature, SINGULAR, Symmetric};

/// Most Newton steps.
const STEPS: u32 = 60;

/// Most halvings of one step.
const HALVINGS: u32 = 40;

/// Newton decrement (gain to expect, twice) below which one more step reaches the precision
/// of the numbers: each step squares the distance.
const CLOSE: f64 = 1e-9;

/// Variance of a coefficient, relative to that at the start, above which its maximum is taken
/// to lie at infinity: along a direction that separates outcomes every step multiplies it by
/// e, while the decrement falls as fast.
const SEPARATED: f64 = 1e6;

/// Value and derivatives of a log-likelihood at a point.
pub(crate) struct Derivatives {
    /// Log-likelihood.
    pub value: f64,
    /// First derivatives.
    pub gradient: Vec<f64>,
    /// Second derivatives, negated.
    pub information: Symmetric,
}

impl Derivatives {
    /// All zero.
    pub fn zeros(parameters: usize) -> Derivatives {
        Derivatives {
            value: 0.0,
            gradient: vec![0.0; parameters],
            information: Symmetric::zeros(parameters),
        }
    }

    fn clear(&mut self) {
        self.value = 0.0;
        self.gradient.fill(0.0);
        self.information.clear();
    }
}

/// Where a log-likelihood is greatest.
pub(crate) struct Maximum {
    /// The parameters.
    pub at: Vec<f64>,
    /// Log-likelihood there.
    pub value: f64,
    /// Log-likelihood at the start.
    pub start: f64,
    /// Inverse of the information there.
    pub covariance: Symmetric,
    /// Newton steps taken.
    pub steps: u32,
}

/// Maximises from `start`. `evaluate` adds to derivatives that are all zero.
///
/// # Errors
///
/// [`FitError::NotFinite`], [`FitError::Collinear`], [`FitError::Separated`] and [`FitError::NotConverged`].
pub(crate) fn maximise(
    start: Vec<f64>,
    mut evaluate: impl FnMut(&[f64], &mut Derivatives),
) -> Result<Maximum, FitError> {
    let mut at = start;
    let mut here = Derivatives::zeros(at.len());
    let mut there = Derivatives::zeros(at.len());
    evaluate(&at, &mut here);
    let first = here.value;
    let scale = here.information.scale();
    let curvature = Curvature::of(&here.information, &scale).ok_or(FitError::NotFinite)?;
    let (flattest, covariate) = curvature.flattest();
    if flattest < SINGULAR {
        return Err(FitError::Collinear { covariate });
    }
    let mut covariance = curvature.inverse();
    let at_start = covariance.clone();
    for steps in 1..=STEPS {
        let step = covariance.times(&here.gradient);
        let decrement: f64 = step.iter().zip(&here.gradient).map(|(a, b)| a * b).sum();
        at = uphill(&at, &step, here.value, |next| {
            there.clear();
            evaluate(next, &mut there);
            there.value
        })
        .ok_or(FitError::NotConverged { steps })?;
        std::mem::swap(&mut here, &mut there);
        covariance = Curvature::of(&here.information, &scale)
            .ok_or(FitError::NotConverged { steps })?
            .inverse();
        if let Some(covariate) = separated(&covariance, &at_start) {
            return Err(FitError::Separated { covariate });
        }
        if decrement < CLOSE {
            return Ok(Maximum {
                covariance,
                value: here.value,
                start: first,
                steps,
                at,
            });
        }
    }
    Err(FitError::NotConverged { steps: STEPS })
}

/// The coefficient whose variance grew most, where it grew too much or is not a variance.
fn separated(covariance: &Symmetric, at_start: &Symmetric) -> Option<usize> {
    let growth = |at: usize| {
        let growth = covariance.get(at, at) / at_start.get(at, at);
        if growth > 0.0 { growth } else { f64::INFINITY }
    };
    (0..covariance.size())
        .max_by(|a, b| growth(*a).total_cmp(&growth(*b)))
        .filter(|at| growth(*at) > SEPARATED)
}

/// The point a step further, or the first half, quarter, … of it that loses nothing. `None`
/// where there is none.
fn uphill(
    at: &[f64],
    step: &[f64],
    value: f64,
    mut evaluate: impl FnMut(&[f64]) -> f64,
) -> Option<Vec<f64>> {
    let mut fraction = 1.0;
    for _ in 0..HALVINGS {
        let next: Vec<f64> = at
            .iter()
            .zip(step)
            .map(|(x, by)| x + fraction * by)
            .collect();
        let there = evaluate(&next);
        // Near the maximum a step gains less than rounding takes.
        if there.is_finite() && there >= value - 1e-12 * value.abs() {
            return Some(next);
        }
        fraction /= 2.0;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    /// n ln-odds: y log p + (n − y) log(1 − p) is greatest at the logit of y / n, where its
    /// information is n p (1 − p).
    #[test]
    fn logit_of_a_rate() {
        let (events, trials) = (3.0, 40.0);
        let found = maximise(vec![0.0], |at, out| {
            let p = 1.0 / (1.0 + (-at[0]).exp());
            out.value = events * p.ln() + (trials - events) * (1.0 - p).ln();
            out.gradient[0] = events - trials * p;
            out.information.add_outer(&[1.0], trials * p * (1.0 - p));
        })
        .unwrap();
        assert!((found.at[0] - (3.0f64 / 37.0).ln()).abs() < 1e-12);
        assert!((found.covariance.get(0, 0) - 40.0 / (3.0 * 37.0)).abs() < 1e-10);
    }

    /// Without events the logit of the rate has no finite maximum.
    #[test]
    fn maximum_at_infinity() {
        let found = maximise(vec![0.0], |at, out| {
            let p = 1.0 / (1.0 + (-at[0]).exp());
            out.value = 40.0 * (1.0 - p).ln();
            out.gradient[0] = -40.0 * p;
            out.information.add_outer(&[1.0], 40.0 * p * (1.0 - p));
        });
        assert_eq!(found.err(), Some(FitError::Separated { covariate: 0 }));
    }
}
