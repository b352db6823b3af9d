//! p-values adjusted for many tests at once, so that the chance of one or more false alarms among them
//! stays below the level.
//!
//! Source: Holm 1979, in full in [`crate::sources`].

/// Holm's adjusted p-values, in the order given.
///
/// ```
/// assert_eq!(hobble_statistics::holm::holm(&[0.01, 0.04]), [0.02, 0.04]);
/// ```
pub fn holm(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    let mut adjusted = vec![0.0; p.len()];
    let mut highest: f64 = 0.0;
    for (rank, &place) in order.iter().enumerate() {
        highest = highest.max((p.len() - rank) as f64 * p[place]).min(1.0);
        adjusted[place] = highest;
    }
    adjusted
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: of 0.01, 0.04, 0.03, 0.005 the smallest is taken four times, the next three
    /// times, then twice, and the largest may not fall below the one before.
    #[test]
    fn holm_by_hand() {
        let got = holm(&[0.01, 0.04, 0.03, 0.005]);
        for (got, want) in got.iter().zip([0.03, 0.06, 0.06, 0.02]) {
            assert!((got - want).abs() < 1e-15);
        }
        assert_eq!(holm(&[0.9, 0.8]), [1.0, 1.0]);
        assert_eq!(holm(&[]), Vec::<f64>::new());
    }
}
