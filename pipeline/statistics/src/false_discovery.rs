//! Adjusted p-values that bound the share of false discoveries.
//!
//! With m p-values in ascending order, the adjusted value of the i-th is the least of
//! m pⱼ / j over j ≥ i. Rejecting where it is at most q keeps the expected share of false
//! rejections at q or below, for independent tests and for those that depend positively.
//!
//! Source: Benjamini and Hochberg 1995, in full in [`crate::sources`].

/// Adjusted p-values, in the order given. A value that is not a number stays so and counts
/// as no test.
pub fn benjamini_hochberg(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).filter(|at| !p[*at].is_nan()).collect();
    order.sort_unstable_by(|a, b| p[*a].total_cmp(&p[*b]));
    let tests = order.len() as f64;
    let mut adjusted = vec![f64::NAN; p.len()];
    let mut least = 1.0f64;
    for (rank, &at) in order.iter().enumerate().rev() {
        least = least.min(p[at] * tests / (rank + 1) as f64);
        adjusted[at] = least;
    }
    adjusted
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The fifteen p-values of the source's example (section 4.1): at 0.05 the four smallest
    /// are rejected, 0.0095 against 4/15 × 0.05 = 0.0133, and 0.0201 is not against 0.0167.
    #[test]
    fn published() {
        let p = [
            0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262,
            0.5719, 0.6528, 0.7590, 1.0000,
        ];
        let adjusted = benjamini_hochberg(&p);
        assert_eq!(adjusted.iter().filter(|p| **p <= 0.05).count(), 4);
        assert!((adjusted[3] - 0.0095 * 15.0 / 4.0).abs() < 1e-15);
    }

    #[test]
    fn order_and_missing() {
        let got = benjamini_hochberg(&[0.04, f64::NAN, 0.01, 0.03]);
        for (got, want) in [(got[0], 0.04), (got[2], 0.03), (got[3], 0.04)] {
            assert!((got - want).abs() < 1e-15);
        }
        assert!(got[1].is_nan());
        assert!(benjamini_hochberg(&[]).is_empty());
    }
}
