//! Trend of a figure over ordered levels, and a test that it is a straight line.
//!
//! Each level has the weighted mean of its observations. The means' joint covariance comes
//! from clusters, since one game can have observations on several levels. A line is fitted to
//! the means, on a scale, by generalised least squares; what is left over tests the line:
//!
//! ```text
//! b = (XᵀV⁻¹X)⁻¹ XᵀV⁻¹m,   Q = (m − Xb)ᵀ V⁻¹ (m − Xb)
//! ```
//!
//! with m the means on the scale, V their covariance, and X a column of ones and one of the
//! doses. Q has levels − 2 degrees of freedom.
//!
//! Source: Grizzle, Starmer and Koch 1969, in full in [`crate::sources`].

use crate::clusters::{ClusterCovariance, Clustering, ScoreSums, Wald, hotelling};
use crate::fit;
use crate::interval::StandardError;
use crate::risk::Scale;
use crate::symmetric::Symmetric;

/// Observations by level.
#[derive(Debug, Clone)]
pub struct Levels {
    clustering: Clustering,
    rows: Vec<Observation>,
    sums: Vec<Sums>,
}

#[derive(Debug, Clone, Copy)]
struct Observation {
    level: usize,
    clusters: [u32; 2],
    weight: f64,
    outcome: f64,
}

#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    weight: f64,
    outcome: f64,
}

/// A fitted line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Figure at dose 0, on the scale.
    pub intercept: f64,
    /// Change of the figure by one unit of dose, on the scale.
    pub slope: f64,
    /// Clustered standard error of the slope.
    pub error: Option<StandardError>,
    /// Two-sided p-value of the slope.
    pub p: Option<f64>,
    /// Test that the levels lie on a line; `None` with two levels, which always do.
    pub departure: Option<Wald>,
}

impl Levels {
    /// No observation yet.
    pub fn new(levels: usize, clustering: Clustering) -> Levels {
        Levels {
            clustering,
            rows: Vec::new(),
            sums: vec![Sums::default(); levels],
        }
    }

    /// Adds an observation, or several of one level and pair of clusters with their mean
    /// outcome.
    ///
    /// # Panics
    ///
    /// Where there is no such level.
    pub fn add(&mut self, level: usize, clusters: [u32; 2], weight: f64, outcome: f64) {
        self.sums[level].weight += weight;
        self.sums[level].outcome += weight * outcome;
        self.rows.push(Observation {
            level,
            clusters,
            weight,
            outcome,
        });
    }

    /// Adds the observations of another piece of the data.
    pub fn append(&mut self, other: &Levels) {
        self.rows.extend_from_slice(&other.rows);
        for (sum, more) in self.sums.iter_mut().zip(&other.sums) {
            sum.weight += more.weight;
            sum.outcome += more.outcome;
        }
    }

    /// Mean of each level; NaN where it has no observation.
    pub fn means(&self) -> Vec<f64> {
        self.sums
            .iter()
            .map(|sum| sum.outcome / sum.weight)
            .collect()
    }

    /// Clustered covariance of the means; `None` with fewer than two clusters.
    pub fn covariance(&self) -> Option<ClusterCovariance> {
        let means = self.means();
        let mut sums = ScoreSums::new(means.len(), self.clustering);
        let mut influence = vec![0.0; means.len()];
        for row in &self.rows {
            let at = row.level;
            influence[at] = row.weight * (row.outcome - means[at]) / self.sums[at].weight;
            sums.add(row.clusters, &influence);
            influence[at] = 0.0;
        }
        sums.of_influence()
    }

    /// The line through the levels, one dose a level.
    ///
    /// `None` with fewer than two levels, where a level has no place on the scale, or where
    /// the covariance of the means is singular.
    ///
    /// # Panics
    ///
    /// Where there are not as many doses as levels.
    pub fn trend(&self, doses: &[f64], scale: Scale) -> Option<Trend> {
        assert_eq!(doses.len(), self.sums.len(), "doses");
        let means = self.means();
        let clustered = self.covariance()?;
        let inverse = on_scale(&clustered.matrix, &means, scale)?.inverse()?;
        let figures: Vec<f64> = means.iter().map(|mean| scale.forward(*mean)).collect();
        let ones = vec![1.0; doses.len()];
        let mut information = Symmetric::zeros(2);
        information.add_outer(&[1.0, 0.0], inverse.quadratic(&ones));
        information.add_outer(&[0.0, 1.0], inverse.quadratic(doses));
        let weighted = inverse.times(doses);
        information.add_cross(0, 1, weighted.iter().sum());
        let covariance = information.inverse()?;
        let weighted = inverse.times(&figures);
        let sides = [
            weighted.iter().sum(),
            weighted.iter().zip(doses).map(|(a, b)| a * b).sum(),
        ];
        let line = covariance.times(&sides);
        let rest: Vec<f64> = figures
            .iter()
            .zip(doses)
            .map(|(figure, dose)| figure - line[0] - line[1] * dose)
            .collect();
        let degrees = clustered.clusters.checked_sub(1)?;
        let error = StandardError::new(covariance.get(1, 1).sqrt(), degrees);
        let more = doses.len() as u32 - 2;
        Some(Trend {
            intercept: line[0],
            slope: line[1],
            error,
            p: error.and_then(|error| fit::p(line[1], error)),
            departure: (more > 0)
                .then(|| hotelling(inverse.quadratic(&rest), more, clustered.clusters))
                .flatten(),
        })
    }
}

/// Covariance of the means on a scale, by its derivative (delta method).
fn on_scale(covariance: &Symmetric, means: &[f64], scale: Scale) -> Option<Symmetric> {
    let slopes: Vec<f64> = means
        .iter()
        .map(|mean| match scale {
            Scale::Plain => 1.0,
            Scale::Log => 1.0 / mean,
            Scale::Logit => 1.0 / (mean * (1.0 - mean)),
        })
        .collect();
    let there = |mean: &f64| scale.forward(*mean).is_finite();
    if means.len() < 2 || !means.iter().all(there) {
        return None;
    }
    Some(covariance.scaled(&slopes))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two levels: the slope is the difference of the means, its variance the sum of theirs.
    #[test]
    fn two_levels_by_hand() {
        let mut levels = Levels::new(2, Clustering::OneWay);
        for (at, outcome) in [1.0, 2.0, 3.0, 6.0].into_iter().enumerate() {
            levels.add(at / 2, [at as u32, 0], 1.0, outcome);
        }
        let trend = levels.trend(&[0.0, 2.0], Scale::Plain).unwrap();
        assert!((trend.slope - 1.5).abs() < 1e-12);
        assert!((trend.intercept - 1.5).abs() < 1e-12);
        // (1/4)² twice and (3/4)² twice, times 4/3; half the difference has a quarter of it.
        let variance = 4.0f64 / 3.0 * (2.0 / 16.0 + 2.0 * 9.0 / 16.0) / 4.0;
        assert!((trend.error.unwrap().se - variance.sqrt()).abs() < 1e-12);
        assert_eq!(trend.departure, None);
    }

    /// Levels on a line leave nothing over; one off the line does.
    #[test]
    fn departure_by_hand() {
        let of = |top: f64| {
            let mut levels = Levels::new(3, Clustering::OneWay);
            for at in 0u32..60 {
                let level = at as usize % 3;
                let middle = [1.0, 2.0, top][level];
                let noise = if at % 2 == 0 { 0.5 } else { -0.5 };
                levels.add(level, [at, 0], 1.0, middle + noise);
            }
            levels.trend(&[0.0, 1.0, 2.0], Scale::Plain).unwrap()
        };
        let line = of(3.0);
        assert!((line.slope - 1.0).abs() < 1e-12);
        assert!(line.departure.unwrap().statistic < 1e-12);
        assert!(of(5.0).departure.unwrap().p < 1e-6);
    }

    #[test]
    fn no_trend() {
        let mut levels = Levels::new(2, Clustering::OneWay);
        for at in 0u32..10 {
            levels.add(at as usize % 2, [at, 0], 1.0, f64::from(at % 2));
        }
        assert_eq!(levels.trend(&[0.0, 1.0], Scale::Log), None, "a rate of 0");
        assert_eq!(levels.trend(&[0.0, 1.0], Scale::Plain), None, "no spread");
    }
}
