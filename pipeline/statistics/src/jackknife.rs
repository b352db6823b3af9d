//! The delete-a-group jackknife.
//!
//! Turns of one game are not independent, so single turns cannot be the unit that is left
//! out; whole folds of games are. With G groups and θ₍ᵢ₎ the figure without group i,
//!
//! ```text
//! se² = (G − 1) / G × Σ (θ₍ᵢ₎ − θ₍.₎)²,   θ₍.₎ the mean of the θ₍ᵢ₎
//! ```
//!
//! Sources: Tukey 1958 (an abstract), Efron 1982 (chapters 3 and 4, from memory), in full in
//! [`crate::sources`].

use crate::interval::{Interval, StandardError};
use crate::risk::Scale;

/// Interval around `whole` from the figures with one group left out each, which are on
/// `scale` already. `groups` is the number of groups that bear on the figure: one less gives
/// the degrees of freedom.
///
/// `None` where there is no [`error`], or `whole` has no place on the scale.
pub fn interval(
    scale: Scale,
    whole: f64,
    without_one: &[f64],
    groups: u32,
    level: f64,
) -> Option<Interval> {
    error(without_one, groups)?.interval(scale, whole, level)
}

/// Standard error and degrees of freedom, one less than `groups`, from the figures with one
/// group left out each.
pub fn error(without_one: &[f64], groups: u32) -> Option<StandardError> {
    StandardError::new(standard_error(without_one)?, groups.checked_sub(1)?)
}

/// Standard error from the figures with one group left out each.
///
/// `None` with fewer than two of them, or where one does not exist (is not finite): a figure
/// that depends on one group alone has no standard error to give.
pub fn standard_error(without_one: &[f64]) -> Option<f64> {
    if without_one.len() < 2 || without_one.iter().any(|value| !value.is_finite()) {
        return None;
    }
    // Equal figures have no spread; their rounded mean would leave a trace of one.
    if without_one.iter().all(|value| *value == without_one[0]) {
        return Some(0.0);
    }
    let groups = without_one.len() as f64;
    let mean = without_one.iter().sum::<f64>() / groups;
    let squares: f64 = without_one.iter().map(|value| (value - mean).powi(2)).sum();
    Some(((groups - 1.0) / groups * squares).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// For a mean the jackknife gives s / √n exactly (Efron 1982): of 1, 2, 3, 4 the
    /// variance is 5/3, so the standard error √(5/12).
    #[test]
    fn of_a_mean() {
        let data = [1.0, 2.0, 3.0, 4.0];
        let sum: f64 = data.iter().sum();
        let without_one: Vec<f64> = data.iter().map(|x| (sum - x) / 3.0).collect();
        let got = standard_error(&without_one).unwrap();
        assert!((got - (5.0f64 / 12.0).sqrt()).abs() < 1e-15);
    }

    #[test]
    fn needs_two_finite_figures() {
        assert_eq!(standard_error(&[]), None);
        assert_eq!(standard_error(&[0.5]), None);
        assert_eq!(standard_error(&[0.5, f64::NEG_INFINITY, 0.4]), None);
        assert_eq!(standard_error(&[0.5, 0.5]), Some(0.0));
    }

    proptest! {
        #[test]
        fn mean_of_any_data(data in prop::collection::vec(-100.0f64..100.0, 2..50)) {
            let n = data.len() as f64;
            let sum: f64 = data.iter().sum();
            let without_one: Vec<f64> = data.iter().map(|x| (sum - x) / (n - 1.0)).collect();
            let mean = sum / n;
            let variance = data.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0);
            let got = standard_error(&without_one).unwrap();
            prop_assert!((got - (variance / n).sqrt()).abs() < 1e-9);
        }
    }
}
