//! Wilson's score interval for a rate.
//!
//! Source: E. B. Wilson, "Probable inference, the law of succession, and statistical
//! inference", Journal of the American Statistical Association 22 (1927), 209–212 (cited
//! from memory). No continuity correction.

use crate::interval::Bounds;

/// The interval for `events` in `trials`, with `z` the normal quantile.
///
/// `None` where there is no trial or there are more events than trials.
pub fn interval(events: u64, trials: u64, z: f64) -> Option<Bounds> {
    if trials == 0 || events > trials || !z.is_finite() {
        return None;
    }
    let n = trials as f64;
    let p = events as f64 / n;
    let z2 = z * z;
    let middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = z / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    // At the ends the bound is 0 or 1 exactly; rounding would leave a trace.
    Some(Bounds {
        low: if events == 0 {
            0.0
        } else {
            (middle - half).max(0.0)
        },
        high: if events == trials {
            1.0
        } else {
            (middle + half).min(1.0)
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// 81 of 263 gives 0.2553 to 0.3662: R. G. Newcombe, "Two-sided confidence intervals for
    /// the single proportion", Statistics in Medicine 17 (1998), table I, method 3 (cited
    /// from memory). 0 of 20 gives 0 to 0.1611, 1 of 29 gives 0.0061 to 0.1718, the same.
    #[test]
    fn published_examples() {
        let z = 1.959_963_984_540_054;
        for (events, trials, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let got = interval(events, trials, z).unwrap();
            assert!((got.low - low).abs() < 5e-5, "{events}/{trials}: {got:?}");
            assert!((got.high - high).abs() < 5e-5, "{events}/{trials}: {got:?}");
        }
    }

    /// With z = 2 and 1 of 4: middle = (1/4 + 1/2) / 2 = 3/8, half = √(3/64 + 1/16) = √7 / 8.
    #[test]
    fn by_hand() {
        let got = interval(1, 4, 2.0).unwrap();
        assert!((got.low - (3.0 - 7f64.sqrt()) / 8.0).abs() < 1e-15);
        assert!((got.high - (3.0 + 7f64.sqrt()) / 8.0).abs() < 1e-15);
    }

    #[test]
    fn nothing_to_say() {
        assert_eq!(interval(0, 0, 1.96), None);
        assert_eq!(interval(3, 2, 1.96), None);
    }

    proptest! {
        /// The bounds solve (p̂ − p)² = z² p (1 − p) / n, hold the rate, and mirror.
        #[test]
        fn solves_its_equation(trials in 1u64..1_000_000, share in 0.0f64..=1.0, z in 0.5f64..4.0) {
            let events = (share * trials as f64).round() as u64;
            let got = interval(events, trials, z).unwrap();
            let rate = events as f64 / trials as f64;
            prop_assert!(got.low <= rate && rate <= got.high);
            for p in [got.low, got.high] {
                let left = (rate - p).powi(2);
                let right = z * z * p * (1.0 - p) / trials as f64;
                prop_assert!((left - right).abs() < 1e-9);
            }
            let mirror = interval(trials - events, trials, z).unwrap();
            prop_assert!((mirror.low - (1.0 - got.high)).abs() < 1e-12);
        }
    }
}
