//! Aalen and Johansen's cumulative incidence: the share ended by each of several competing
//! causes up to a time, where some observations are censored.
//!
//! Sources: O. O. Aalen, S. Johansen, "An empirical transition matrix for non-homogeneous
//! Markov chains based on censored observations", Scandinavian Journal of Statistics 5
//! (1978), 141–150; variance by the delta method after E. Marubini, M. G. Valsecchi,
//! "Analysing Survival Data from Clinical Trials and Observational Studies", Wiley 1995,
//! chapter 10 (both cited from memory). With nᵢ at risk, dᵢ ends of any cause, eᵢ ends of the
//! cause, S the Kaplan–Meier share and F the cumulative incidence,
//!
//! ```text
//! var F(t) = Σ (F(t) − Fᵢ)² dᵢ / (nᵢ (nᵢ − dᵢ)) + Σ Sᵢ₋₁² eᵢ (nᵢ − eᵢ) / nᵢ³
//!            − 2 Σ (F(t) − Fᵢ) Sᵢ₋₁ eᵢ / nᵢ²
//! ```
//!
//! Observations are taken as independent; for spells of one game they are not, and the
//! interval is too narrow. Leave folds out ([`super::jackknife`]) for an honest one.

use std::collections::BTreeMap;

use super::{Bounds, kaplan_meier};

/// The estimate from one time on, until the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Time of one or more ends.
    pub time: u32,
    /// Observations not ended and not censored just before it.
    pub at_risk: u64,
    /// Share not ended by any cause just after it.
    pub survival: f64,
    /// By cause: ends at it, cumulative incidence just after it and its variance.
    pub causes: Vec<Incidence>,
}

/// One cause at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Incidence {
    /// Ends by the cause at the time.
    pub events: u64,
    /// Share ended by the cause up to and with the time.
    pub incidence: f64,
    /// Variance of that share by the delta method.
    pub variance: f64,
}

impl Incidence {
    /// Interval on the log(−log) scale; `None` where the share is 0 or 1.
    pub fn interval(&self, z: f64) -> Option<Bounds> {
        kaplan_meier::log_log(self.incidence, self.variance, z)
    }
}

/// The steps, in order of time, from `(time, cause)` of each observation; `cause` is a
/// number below `causes`, or `None` where it was censored. Ends come before censorings of the
/// same time. An observation with a cause out of range is taken as censored.
pub fn estimate(
    observations: impl IntoIterator<Item = (u32, Option<usize>)>,
    causes: usize,
) -> Vec<Step> {
    let mut moments: BTreeMap<u32, (Vec<u64>, u64)> = BTreeMap::new();
    let mut at_risk = 0u64;
    for (time, cause) in observations {
        let moment = moments.entry(time).or_insert_with(|| (vec![0; causes], 0));
        if let Some(count) = cause.and_then(|cause| moment.0.get_mut(cause)) {
            *count += 1;
        }
        moment.1 += 1;
        at_risk += 1;
    }

    let mut survival = 1.0;
    let mut survival_before = Vec::new();
    let mut steps: Vec<Step> = Vec::new();
    for (time, (counts, all)) in moments {
        let ended: u64 = counts.iter().sum();
        if ended > 0 {
            let n = at_risk as f64;
            let step_causes = counts
                .iter()
                .enumerate()
                .map(|(cause, &events)| Incidence {
                    events,
                    incidence: steps
                        .last()
                        .map_or(0.0, |last| last.causes[cause].incidence)
                        + survival * events as f64 / n,
                    variance: 0.0,
                })
                .collect();
            survival_before.push(survival);
            survival *= (n - ended as f64) / n;
            steps.push(Step {
                time,
                at_risk,
                survival,
                causes: step_causes,
            });
        }
        at_risk -= all;
    }

    for last in 0..steps.len() {
        for cause in 0..causes {
            steps[last].causes[cause].variance = variance(&steps[..=last], &survival_before, cause);
        }
    }
    steps
}

fn variance(steps: &[Step], survival_before: &[f64], cause: usize) -> f64 {
    let Some(last) = steps.last() else { return 0.0 };
    let reached = last.causes[cause].incidence;
    let mut sum = 0.0;
    for (step, &before) in steps.iter().zip(survival_before) {
        let n = step.at_risk as f64;
        let d: u64 = step.causes.iter().map(|c| c.events).sum();
        let d = d as f64;
        let e = step.causes[cause].events as f64;
        let left = reached - step.causes[cause].incidence;
        // Where all at risk end, the first term is 0 × ∞ and counts 0: nothing follows.
        if n > d {
            sum += left * left * d / (n * (n - d));
        }
        sum += before * before * e * (n - e) / (n * n * n) - 2.0 * left * before * e / (n * n);
    }
    sum.max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Five observations by hand: cause 0 at 1, censored at 2, cause 1 at 3, cause 0 at 4,
    /// censored at 5. At risk 5, 3, 2; survival 4/5, 8/15, 4/15; incidence of cause 0:
    /// 1/5, 1/5, 1/5 + 8/15 × 1/2 = 7/15; of cause 1: 0, 4/5 × 1/3 = 4/15, 4/15.
    #[test]
    fn by_hand() {
        let steps = estimate(
            [
                (1, Some(0)),
                (2, None),
                (3, Some(1)),
                (4, Some(0)),
                (5, None),
            ],
            2,
        );
        let times: Vec<_> = steps.iter().map(|s| (s.time, s.at_risk)).collect();
        assert_eq!(times, [(1, 5), (3, 3), (4, 2)]);
        for (step, (s, a, b)) in steps.iter().zip([
            (4.0 / 5.0, 1.0 / 5.0, 0.0),
            (8.0 / 15.0, 1.0 / 5.0, 4.0 / 15.0),
            (4.0 / 15.0, 7.0 / 15.0, 4.0 / 15.0),
        ]) {
            assert!((step.survival - s).abs() < 1e-15);
            assert!((step.causes[0].incidence - a).abs() < 1e-15);
            assert!((step.causes[1].incidence - b).abs() < 1e-15);
        }
        assert_eq!(steps[0].causes[1].interval(1.96), None);
    }

    proptest! {
        /// Without censoring it is the plain share with variance p (1 − p) / n; always the
        /// causes and the survivors add up to one; with one cause it is Kaplan–Meier.
        #[test]
        fn adds_up(rows in prop::collection::vec((0u32..20, 0usize..4), 1..60)) {
            let n = rows.len() as f64;
            for step in estimate(rows.iter().map(|&(t, c)| (t, Some(c))), 4) {
                for (cause, got) in step.causes.iter().enumerate() {
                    let share = rows.iter().filter(|&&(t, c)| t <= step.time && c == cause).count() as f64 / n;
                    prop_assert!((got.incidence - share).abs() < 1e-12);
                    prop_assert!((got.variance - share * (1.0 - share) / n).abs() < 1e-12);
                }
            }
            // Cause 3 now means censored.
            for step in estimate(rows.iter().map(|&(t, c)| (t, Some(c))), 3) {
                let sum: f64 = step.causes.iter().map(|c| c.incidence).sum();
                prop_assert!((sum + step.survival - 1.0).abs() < 1e-12);
            }
            let one = estimate(rows.iter().map(|&(t, c)| (t, (c == 0).then_some(0))), 1);
            let km = kaplan_meier::estimate(rows.iter().map(|&(t, c)| (t, c == 0)));
            prop_assert_eq!(one.len(), km.len());
            for (a, b) in one.iter().zip(&km) {
                prop_assert!((a.survival - b.survival).abs() < 1e-12);
                prop_assert!((a.causes[0].variance - b.variance).abs() < 1e-9);
            }
        }
    }
}
