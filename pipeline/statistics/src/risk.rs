//! Risk ratio and risk difference of two groups, and the scales their intervals are made on.

use crate::interval::Bounds;
use crate::wilson;

/// The scale on which an interval is symmetrical.
///
/// A rate is put on the logit scale and a ratio on the log scale, where their sampling
/// distributions are nearer to normal and no bound leaves the range it can have. A
/// difference stays as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// As it is.
    Plain,
    /// Natural logarithm.
    Log,
    /// Logarithm of the odds.
    Logit,
}

impl Scale {
    /// The figure on this scale; not finite where it has no place there.
    pub fn forward(self, value: f64) -> f64 {
        match self {
            Scale::Plain => value,
            Scale::Log => value.ln(),
            Scale::Logit => (value / (1.0 - value)).ln(),
        }
    }

    /// Back from the scale.
    pub fn back(self, value: f64) -> f64 {
        match self {
            Scale::Plain => value,
            Scale::Log => value.exp(),
            Scale::Logit => 1.0 / (1.0 + (-value).exp()),
        }
    }

    /// The bounds `width` to either side of `value` on this scale, turned back.
    ///
    /// `None` where the value has no place on the scale.
    pub fn around(self, value: f64, width: f64) -> Option<Bounds> {
        let middle = self.forward(value);
        let bounds = Bounds {
            low: self.back(middle - width),
            high: self.back(middle + width),
        };
        (middle.is_finite() && bounds.low.is_finite() && bounds.high.is_finite()).then_some(bounds)
    }
}

/// Events and trials of two groups.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Two {
    /// Events in the first group.
    pub events: u64,
    /// Trials in the first group.
    pub trials: u64,
    /// Events in the second group.
    pub other_events: u64,
    /// Trials in the second group.
    pub other_trials: u64,
}

/// First rate ÷ second rate; `None` where either has no trial or the second no event.
pub fn ratio(two: Two) -> Option<f64> {
    (two.trials > 0 && two.other_trials > 0 && two.other_events > 0).then(|| {
        (two.events as f64 / two.trials as f64)
            / (two.other_events as f64 / two.other_trials as f64)
    })
}

/// First rate − second rate; `None` where either has no trial.
pub fn difference(two: Two) -> Option<f64> {
    (two.trials > 0 && two.other_trials > 0).then(|| {
        two.events as f64 / two.trials as f64 - two.other_events as f64 / two.other_trials as f64
    })
}

/// Katz's interval of the risk ratio: normal on the log scale, with
/// `se² = 1/a − 1/n + 1/b − 1/m`. Also gives that standard error.
///
/// Source: D. Katz, J. Baptista, S. P. Azen, M. C. Pike, "Obtaining confidence intervals for
/// the risk ratio in cohort studies", Biometrics 34 (1978), 469–474 (cited from memory).
/// `None` where a group has no trial or no event.
pub fn katz(two: Two, z: f64) -> Option<(Bounds, f64)> {
    let value = ratio(two)?;
    if two.events == 0 {
        return None;
    }
    let se = (1.0 / two.events as f64 - 1.0 / two.trials as f64 + 1.0 / two.other_events as f64
        - 1.0 / two.other_trials as f64)
        .max(0.0)
        .sqrt();
    Some((Scale::Log.around(value, z * se)?, se))
}

/// Newcombe's interval of the risk difference, from the two Wilson intervals.
///
/// Source: R. G. Newcombe, "Interval estimation for the difference between independent
/// proportions", Statistics in Medicine 17 (1998), 873–890, method 10 (cited from memory).
/// `None` where a group has no trial.
pub fn newcombe(two: Two, z: f64) -> Option<Bounds> {
    let value = difference(two)?;
    let p = two.events as f64 / two.trials as f64;
    let q = two.other_events as f64 / two.other_trials as f64;
    let first = wilson::interval(two.events, two.trials, z)?;
    let second = wilson::interval(two.other_events, two.other_trials, z)?;
    Some(Bounds {
        low: value - (p - first.low).hypot(second.high - q),
        high: value + (first.high - p).hypot(q - second.low),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const Z: f64 = 1.959_963_984_540_054;

    /// 56 of 70 against 48 of 80: difference 0.2, interval 0.0524 to 0.3339 (Newcombe 1998,
    /// table II, contrast (a), method 10; from memory). 9/10 against 3/10: 0.1705 to 0.8090.
    #[test]
    fn newcombe_published() {
        for (two, low, high) in [
            (
                Two {
                    events: 56,
                    trials: 70,
                    other_events: 48,
                    other_trials: 80,
                },
                0.0524,
                0.3339,
            ),
            (
                Two {
                    events: 9,
                    trials: 10,
                    other_events: 3,
                    other_trials: 10,
                },
                0.1705,
                0.8090,
            ),
        ] {
            let got = newcombe(two, Z).unwrap();
            assert!((got.low - low).abs() < 5e-5, "{got:?}");
            assert!((got.high - high).abs() < 5e-5, "{got:?}");
        }
    }

    /// 20 of 100 against 10 of 100: ratio 2, se² = 1/20 − 1/100 + 1/10 − 1/100 = 0.13.
    #[test]
    fn katz_by_hand() {
        let two = Two {
            events: 20,
            trials: 100,
            other_events: 10,
            other_trials: 100,
        };
        let (bounds, se) = katz(two, 2.0).unwrap();
        assert!((se - 0.13f64.sqrt()).abs() < 1e-15);
        assert!((bounds.low - 2.0 * (-2.0 * 0.13f64.sqrt()).exp()).abs() < 1e-14);
        assert!((bounds.high - 2.0 * (2.0 * 0.13f64.sqrt()).exp()).abs() < 1e-14);
    }

    #[test]
    fn nothing_to_divide_by() {
        let two = Two {
            events: 2,
            trials: 10,
            other_events: 0,
            other_trials: 10,
        };
        assert_eq!(ratio(two), None);
        assert_eq!(katz(two, Z), None);
        assert_eq!(difference(two), Some(0.2));
        assert!(newcombe(two, Z).is_some());
        let none = Two {
            events: 0,
            trials: 0,
            other_events: 1,
            other_trials: 10,
        };
        assert_eq!((ratio(none), difference(none)), (None, None));
        let zero = Two {
            events: 0,
            trials: 10,
            other_events: 1,
            other_trials: 10,
        };
        assert_eq!((ratio(zero), katz(zero, Z)), (Some(0.0), None));
    }

    #[test]
    fn no_place_on_the_scale() {
        assert_eq!(Scale::Log.around(0.0, 0.1), None);
        assert_eq!(Scale::Logit.around(1.0, 0.1), None);
        assert_eq!(
            Scale::Plain.around(0.5, 0.25),
            Some(Bounds {
                low: 0.25,
                high: 0.75
            })
        );
    }

    proptest! {
        #[test]
        fn scales_turn_back(value in 0.001f64..0.999) {
            for scale in [Scale::Plain, Scale::Log, Scale::Logit] {
                prop_assert!((scale.back(scale.forward(value)) - value).abs() < 1e-12);
            }
            let bounds = Scale::Logit.around(value, 3.0).unwrap();
            prop_assert!(0.0 < bounds.low && bounds.low < value && value < bounds.high && bounds.high < 1.0);
        }
    }
}
