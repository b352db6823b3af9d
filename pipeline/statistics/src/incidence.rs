//! Cumulative incidence with competing ends, from counts.
//!
//! With hₖ(u) the ends by cause k at time u ÷ the number at risk, and S(t) the product of
//! 1 − Σₖ hₖ(u) over u ≤ t, the share that has ended by cause k up to t is
//!
//! ```text
//! Fₖ(t) = Σ over u ≤ t of S(u − 1) hₖ(u)
//! ```
//!
//! Units leave the numbers at risk unobserved (censored) without an end. The clustered
//! interval takes each hazard's influence on Fₖ(t), by its derivative
//! S(u − 1) [j = k] − (Fₖ(t) − Fₖ(u)) / (1 − Σ h(u)) for the hazard of cause j at u.
//!
//! Source: Aalen and Johansen 1978, in full in [`crate::sources`].

use std::collections::BTreeMap;

use crate::clusters::{ClusterCovariance, Clustering, ScoreSums};
use crate::interval::{Interval, StandardError};
use crate::risk::Scale;

/// Numbers at risk and ends by cause, by time and clusters.
#[derive(Debug, Clone)]
pub struct Incidence {
    clustering: Clustering,
    causes: usize,
    rows: Vec<Row>,
    /// Ends by cause, row by row.
    ends: Vec<f64>,
}

#[derive(Debug, Clone, Copy)]
struct Row {
    time: u32,
    clusters: [u32; 2],
    at_risk: f64,
}

/// The shares at one time.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// The time.
    pub time: u32,
    /// Number at risk.
    pub at_risk: f64,
    /// Share without an end up to this time.
    pub free: f64,
    /// Share that has ended, by cause.
    pub causes: Vec<Share>,
}

/// A share that has ended by one cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// The share.
    pub value: f64,
    /// Clustered interval, on the logit scale; `None` at 0 and 1, and where the clusters show
    /// no spread.
    pub interval: Option<Interval>,
}

/// Sums and shares of a time.
struct Step {
    at_risk: f64,
    hazards: Vec<f64>,
    /// Share free just before.
    before: f64,
    /// 1 − Σ h: the share of those at risk that does not end.
    stays: f64,
    /// Fₖ of this time.
    ended: Vec<f64>,
}

impl Incidence {
    /// No unit yet.
    pub fn new(causes: usize, clustering: Clustering) -> Incidence {
        Incidence {
            clustering,
            causes,
            rows: Vec::new(),
            ends: Vec::new(),
        }
    }

    /// Adds units of a pair of clusters: those at risk at a time, and how many of them end
    /// there by each cause. A unit is added at each time it is at risk.
    ///
    /// # Panics
    ///
    /// Where the number of causes differs.
    pub fn add(&mut self, time: u32, clusters: [u32; 2], at_risk: f64, ends: &[f64]) {
        assert_eq!(ends.len(), self.causes, "causes");
        self.rows.push(Row {
            time,
            clusters,
            at_risk,
        });
        self.ends.extend_from_slice(ends);
    }

    /// Adds the units of another piece of the data.
    ///
    /// # Panics
    ///
    /// Where the number of causes differs.
    pub fn append(&mut self, other: &Incidence) {
        assert_eq!(self.causes, other.causes, "causes");
        self.rows.extend_from_slice(&other.rows);
        self.ends.extend_from_slice(&other.ends);
    }

    /// The shares at each time with units at risk, in order.
    pub fn curves(&self, level: f64) -> Vec<Point> {
        let steps = self.steps();
        let covariance = self.covariance(&steps);
        let share = |number, cause, value| Share {
            value,
            interval: covariance
                .as_ref()
                .and_then(|of| self.error(of, number, cause, value))
                .and_then(|error| error.interval(Scale::Logit, value, level)),
        };
        steps
            .iter()
            .enumerate()
            .map(|(number, (&time, step))| Point {
                time,
                at_risk: step.at_risk,
                free: step.before * step.stays,
                causes: step
                    .ended
                    .iter()
                    .enumerate()
                    .map(|(cause, &value)| share(number, cause, value))
                    .collect(),
            })
            .collect()
    }

    fn rows(&self) -> impl Iterator<Item = (&Row, &[f64])> {
        self.rows.iter().zip(self.ends.chunks_exact(self.causes))
    }

    fn steps(&self) -> BTreeMap<u32, Step> {
        let mut counts: BTreeMap<u32, (f64, Vec<f64>)> = BTreeMap::new();
        for (row, ends) in self.rows() {
            let (at_risk, sums) = counts
                .entry(row.time)
                .or_insert_with(|| (0.0, vec![0.0; self.causes]));
            *at_risk += row.at_risk;
            for (sum, end) in sums.iter_mut().zip(ends) {
                *sum += end;
            }
        }
        let mut free = 1.0;
        let mut ended = vec![0.0; self.causes];
        counts
            .into_iter()
            .filter(|(_, (at_risk, _))| *at_risk > 0.0)
            .map(|(time, (at_risk, ends))| {
                let hazards: Vec<f64> = ends.iter().map(|ends| ends / at_risk).collect();
                let before = free;
                for (ended, hazard) in ended.iter_mut().zip(&hazards) {
                    *ended += before * hazard;
                }
                // Where all end, rounding must not leave any free.
                let all = ends.iter().sum::<f64>();
                let stays = if all >= at_risk {
                    0.0
                } else {
                    1.0 - all / at_risk
                };
                free = before * stays;
                let step = Step {
                    at_risk,
                    hazards,
                    before,
                    stays,
                    ended: ended.clone(),
                };
                (time, step)
            })
            .collect()
    }

    /// Covariance of what the rows add at each time, time after time: for each cause
    /// S(u − 1) over(k) + Fₖ(u) all, then all itself, where over(k) is what they end beyond
    /// expectation and all the sum over causes ÷ (1 − Σ h). Their influence on Fₖ(t) is the sum
    /// over u ≤ t of the first less Fₖ(t) times the second.
    fn covariance(&self, steps: &BTreeMap<u32, Step>) -> Option<ClusterCovariance> {
        let numbers: BTreeMap<u32, usize> = steps.keys().copied().zip(0..).collect();
        let mut sums = ScoreSums::new(steps.len() * (self.causes + 1), self.clustering);
        let mut part = vec![0.0; self.causes + 1];
        for (row, ends) in self.rows() {
            let (Some(step), Some(number)) = (steps.get(&row.time), numbers.get(&row.time)) else {
                continue;
            };
            let mut all = 0.0;
            for (cause, part) in part.iter_mut().take(self.causes).enumerate() {
                let over = (ends[cause] - step.hazards[cause] * row.at_risk) / step.at_risk;
                *part = step.before * over;
                all += over;
            }
            // Where none stay, nothing comes later.
            all = if step.stays > 0.0 {
                all / step.stays
            } else {
                0.0
            };
            for (part, ended) in part.iter_mut().zip(&step.ended) {
                *part += ended * all;
            }
            part[self.causes] = all;
            sums.add_from(row.clusters, number * (self.causes + 1), &part);
        }
        sums.of_influence()
    }

    /// Standard error, on the logit scale, of a cause's share at the time of a number.
    fn error(
        &self,
        of: &ClusterCovariance,
        number: usize,
        cause: usize,
        share: f64,
    ) -> Option<StandardError> {
        let mut weights = vec![0.0; of.matrix.size()];
        for part in weights.chunks_exact_mut(self.causes + 1).take(number + 1) {
            part[cause] = 1.0;
            part[self.causes] = -share;
        }
        let error = of.matrix.quadratic(&weights).sqrt();
        StandardError::new(error / (share * (1.0 - share)), of.clusters.checked_sub(1)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten units: at time 1 two end by the first cause, one by the second, one is censored; at
    /// time 2 three of six end by the first. Shares 0.2 and 0.1, then 0.2 + 0.7 × 0.5 = 0.55.
    #[test]
    fn by_hand() {
        let mut incidence = Incidence::new(2, Clustering::OneWay);
        for unit in 0u32..10 {
            let first = match unit {
                0 | 1 => [1.0, 0.0],
                2 => [0.0, 1.0],
                _ => [0.0, 0.0],
            };
            incidence.add(1, [unit, 0], 1.0, &first);
            if unit >= 4 {
                let ends = f64::from(u32::from(unit < 7));
                incidence.add(2, [unit, 0], 1.0, &[ends, 0.0]);
            }
        }
        let curves = incidence.curves(0.95);
        let values = |at: usize| (curves[at].causes[0].value, curves[at].causes[1].value);
        assert!((values(0).0 - 0.2).abs() < 1e-15 && (values(0).1 - 0.1).abs() < 1e-15);
        assert!((values(1).0 - 0.55).abs() < 1e-15 && (values(1).1 - 0.1).abs() < 1e-15);
        assert!((curves[1].free - 0.35).abs() < 1e-15);
        // At time 1 it is a rate: p q / n, times 10/9, over (p q)².
        let se = curves[0].causes[0].interval.unwrap().se.unwrap();
        assert!((se.powi(2) - 10.0 / 9.0 / (10.0 * 0.2 * 0.8)).abs() < 1e-12);
    }

    /// None stay: shares add up to 1, and later times add nothing.
    #[test]
    fn everybody_ends() {
        let mut incidence = Incidence::new(2, Clustering::OneWay);
        for unit in 0u32..3 {
            let first = f64::from(u32::from(unit == 0));
            incidence.add(4, [unit, 0], 1.0, &[first, 1.0 - first]);
        }
        let curves = incidence.curves(0.95);
        assert_eq!(curves[0].free, 0.0);
        let sum = curves[0].causes[0].value + curves[0].causes[1].value;
        assert!((sum - 1.0).abs() < 1e-15);
    }
}
