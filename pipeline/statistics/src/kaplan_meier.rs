//! Kaplan and Meier's estimate of the share not yet ended, where some are censored.
//!
//! Sources: E. L. Kaplan, P. Meier, "Nonparametric estimation from incomplete observations",
//! Journal of the American Statistical Association 53 (1958), 457–481; variance by
//! M. Greenwood, "The natural duration of cancer", Reports on Public Health and Medical
//! Subjects 33 (1926); interval on the log(−log) scale after J. D. Kalbfleisch,
//! R. L. Prentice, "The Statistical Analysis of Failure Time Data", Wiley 1980 (all cited
//! from memory).
//!
//! Observations are taken as independent; for spells of one game they are not, and the
//! interval is too narrow. Leave folds out ([`super::jackknife`]) for an honest one.

use std::collections::BTreeMap;

use super::Bounds;

/// The estimate from one time on, until the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Time of one or more ends.
    pub time: u32,
    /// Observations not ended and not censored just before it.
    pub at_risk: u64,
    /// Ends at it.
    pub events: u64,
    /// Share not yet ended just after it.
    pub survival: f64,
    /// Greenwood's variance of that share; 0 once nothing is left.
    pub variance: f64,
}

impl Step {
    /// Interval on the log(−log) scale; `None` where the share is 0 or 1.
    pub fn interval(&self, z: f64) -> Option<Bounds> {
        log_log(self.survival, self.variance, z)
    }
}

/// The steps, in order of time, from `(time, ended)` of each observation; `ended` is false
/// where it was censored. Ends come before censorings of the same time.
pub fn estimate(observations: impl IntoIterator<Item = (u32, bool)>) -> Vec<Step> {
    let mut moments: BTreeMap<u32, (u64, u64)> = BTreeMap::new();
    let mut at_risk = 0;
    for (time, ended) in observations {
        let moment = moments.entry(time).or_default();
        moment.0 += u64::from(ended);
        moment.1 += 1;
        at_risk += 1;
    }
    let (mut survival, mut sum) = (1.0, 0.0);
    let mut steps = Vec::new();
    for (time, (events, all)) in moments {
        if events > 0 {
            let (n, d) = (at_risk as f64, events as f64);
            survival *= (n - d) / n;
            sum += d / (n * (n - d));
            let variance = if events == at_risk {
                0.0
            } else {
                survival * survival * sum
            };
            steps.push(Step {
                time,
                at_risk,
                events,
                survival,
                variance,
            });
        }
        at_risk -= all;
    }
    steps
}

/// Interval of a share on the log(−log) scale: `share ^ exp(±z se / (share ln share))`.
pub(super) fn log_log(share: f64, variance: f64, z: f64) -> Option<Bounds> {
    if !(share > 0.0 && share < 1.0) {
        return None;
    }
    let width = z * variance.sqrt() / (share * share.ln()).abs();
    Some(Bounds {
        low: share.powf(width.exp()),
        high: share.powf((-width).exp()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Remission times in weeks of the 21 patients on 6-MP (E. J. Freireich and others, Blood
    /// 21 (1963), as printed in most textbooks on survival; from memory). Published: 0.857 at
    /// 6, 0.807 at 7, 0.753 at 10, 0.690 at 13, 0.627 at 16, 0.538 at 22, 0.448 at 23, with
    /// standard error 0.0764 at 6 and 0.1346 at 23.
    #[test]
    fn six_mp() {
        let ended = [6, 6, 6, 7, 10, 13, 16, 22, 23];
        let censored = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35];
        let steps = estimate(
            ended
                .iter()
                .map(|&t| (t, true))
                .chain(censored.iter().map(|&t| (t, false))),
        );
        let want = [
            (6, 21, 0.857),
            (7, 17, 0.807),
            (10, 15, 0.753),
            (13, 12, 0.690),
            (16, 11, 0.627),
            (22, 7, 0.538),
            (23, 6, 0.448),
        ];
        assert_eq!(steps.len(), want.len());
        for (step, (time, at_risk, survival)) in steps.iter().zip(want) {
            assert_eq!((step.time, step.at_risk), (time, at_risk));
            assert!((step.survival - survival).abs() < 6e-4, "{step:?}");
        }
        assert!((steps[0].variance.sqrt() - 0.0764).abs() < 5e-5);
        assert!((steps[6].variance.sqrt() - 0.1346).abs() < 5e-5);
    }

    #[test]
    fn nothing_left() {
        let steps = estimate([(1, true), (2, true)]);
        assert_eq!(steps[1].survival, 0.0);
        assert_eq!(steps[1].variance, 0.0);
        assert_eq!(steps[1].interval(1.96), None);
        assert!(estimate([(3, false)]).is_empty());
    }

    proptest! {
        /// Without censoring it is the plain share, and Greenwood's variance p (1 − p) / n.
        #[test]
        fn uncensored(times in prop::collection::vec(0u32..30, 1..80)) {
            let n = times.len() as f64;
            for step in estimate(times.iter().map(|&t| (t, true))) {
                let share = times.iter().filter(|&&t| t > step.time).count() as f64 / n;
                prop_assert!((step.survival - share).abs() < 1e-12);
                prop_assert!((step.variance - share * (1.0 - share) / n).abs() < 1e-12);
                if let Some(bounds) = step.interval(1.96) {
                    prop_assert!(0.0 <= bounds.low && bounds.low <= share + 1e-12);
                    prop_assert!(share - 1e-12 <= bounds.high && bounds.high <= 1.0);
                }
            }
        }
    }
}
