//! Risk ratio and risk difference of two groups, and the scales their intervals are made on.

use crate::bounds::Bounds;

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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_to_divide_by() {
        let two = Two {
            events: 2,
            trials: 10,
            other_events: 0,
            other_trials: 10,
        };
        assert_eq!(ratio(two), None);
        assert_eq!(difference(two), Some(0.2));
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
        assert_eq!(ratio(zero), Some(0.0));
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
