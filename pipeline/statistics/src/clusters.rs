//! Covariance of an estimate from observations in clusters: one way or two ways.
//!
//! With uₒ the contribution of observation o to the estimate's score and A the information,
//!
//! ```text
//! V₁ = A⁻¹ { G / (G − 1) × Σ over clusters g of (Σ uₒ)(Σ uₒ)ᵀ } A⁻¹,  the sums over o in g
//! V₂ = V by the first clusters + V by the second − V by their intersections
//! ```
//!
//! where each of the three has its own G / (G − 1). V₂ may have negative eigenvalues; they
//! are set to 0, as Cameron and others do, and the result says so. Student's t with one less
//! than the smaller number of clusters gives the intervals.
//!
//! Sources: Liang and Zeger 1986; Cameron, Gelbach and Miller 2011, in full in
//! [`crate::sources`].

use rustc_hash::FxHashMap;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

use crate::interval::StandardError;
use crate::symmetric::Symmetric;

/// Whether observations are clustered one way or two ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clustering {
    /// By the first of the two clusters of an observation.
    OneWay,
    /// By both.
    TwoWay,
}

/// Covariance by clusters.
#[derive(Debug, Clone, PartialEq)]
pub struct ClusterCovariance {
    /// The covariance.
    pub matrix: Symmetric,
    /// Number of clusters; two ways, the smaller number.
    pub clusters: u32,
    /// Whether a negative eigenvalue was set to 0.
    pub clipped: bool,
}

/// A test that several figures are 0 at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wald {
    /// Wald's statistic: χ² with `figures` degrees of freedom, were the covariance known.
    pub statistic: f64,
    /// Number of figures.
    pub figures: u32,
    /// p-value by Hotelling's F, which allows for the covariance being estimated.
    pub p: f64,
}

impl ClusterCovariance {
    /// Standard error of one figure; `None` without spread.
    pub fn error(&self, at: usize) -> Option<StandardError> {
        StandardError::new(
            self.matrix.get(at, at).sqrt(),
            self.clusters.checked_sub(1)?,
        )
    }

    /// Tests that `figures`, at these positions, are all 0: with q figures and G clusters,
    /// statistic × (G − q) / (q (G − 1)) has the F distribution with q and G − q degrees of
    /// freedom.
    ///
    /// Source: Hotelling 1931, in full in [`crate::sources`]. `None` where the covariance is
    /// singular or G is not above q.
    pub fn wald(&self, figures: &[f64], at: &[usize]) -> Option<Wald> {
        let inverse = self.matrix.part(at).inverse()?;
        let picked: Vec<f64> = at.iter().map(|at| figures[*at]).collect();
        let statistic = inverse.quadratic(&picked);
        hotelling(statistic, at.len() as u32, self.clusters)
    }
}

/// p-value of Wald's statistic of `figures` figures from `clusters` clusters.
pub(crate) fn hotelling(statistic: f64, figures: u32, clusters: u32) -> Option<Wald> {
    let (q, groups) = (f64::from(figures), f64::from(clusters));
    let f = FisherSnedecor::new(q, groups - q).ok()?;
    let p = f.sf(statistic * (groups - q) / (q * (groups - 1.0)));
    Some(Wald {
        statistic,
        figures,
        p,
    })
}

/// Sums of scores by cluster.
#[derive(Debug, Clone)]
pub struct ScoreSums {
    parameters: usize,
    first: Way,
    second: Option<(Way, Way)>,
}

/// The sums of one way to cluster.
#[derive(Debug, Clone)]
struct Way {
    numbers: FxHashMap<u64, usize>,
    sums: Vec<f64>,
    /// The cluster of the last observation and where its sums begin: rows of one game come
    /// after each other.
    last: Option<(u64, usize)>,
}

impl ScoreSums {
    /// No observation yet.
    pub fn new(parameters: usize, clustering: Clustering) -> ScoreSums {
        ScoreSums {
            parameters,
            first: Way::new(),
            second: (clustering == Clustering::TwoWay).then(|| (Way::new(), Way::new())),
        }
    }

    /// Adds the score of an observation, as long as there are parameters, to its clusters.
    pub fn add(&mut self, clusters: [u32; 2], score: &[f64]) {
        self.add_from(clusters, 0, score);
    }

    /// Adds a score that is 0 before position `from` and after its own length.
    pub(crate) fn add_from(&mut self, clusters: [u32; 2], from: usize, score: &[f64]) {
        let size = self.parameters;
        let [first, second] = clusters.map(u64::from);
        self.first.add(first, size, from, score);
        if let Some((by_second, by_both)) = &mut self.second {
            by_second.add(second, size, from, score);
            by_both.add(first << 32 | second, size, from, score);
        }
    }

    /// Covariance of the estimate, `bread` being the inverse of the information.
    ///
    /// `None` with fewer than two clusters on a side.
    pub fn covariance(&self, bread: &Symmetric) -> Option<ClusterCovariance> {
        let mut meat = self.first.meat(self.parameters)?;
        let mut clusters = self.first.numbers.len();
        if let Some((by_second, by_both)) = &self.second {
            meat.add(&by_second.meat(self.parameters)?, 1.0);
            meat.add(&by_both.meat(self.parameters)?, -1.0);
            clusters = clusters.min(by_second.numbers.len());
        }
        let (matrix, clipped) = bread.around(&meat).without_negative();
        Some(ClusterCovariance {
            matrix,
            clusters: clusters as u32,
            clipped,
        })
    }

    /// Covariance of figures whose scores are their influence already: the change of a figure
    /// that an observation makes.
    pub fn of_influence(&self) -> Option<ClusterCovariance> {
        let mut one = Symmetric::zeros(self.parameters);
        let mut unit = vec![0.0; self.parameters];
        for at in 0..self.parameters {
            unit[at] = 1.0;
            one.add_outer(&unit, 1.0);
            unit[at] = 0.0;
        }
        self.covariance(&one)
    }
}

impl Way {
    fn new() -> Way {
        Way {
            numbers: FxHashMap::default(),
            sums: Vec::new(),
            last: None,
        }
    }

    fn add(&mut self, cluster: u64, parameters: usize, from: usize, score: &[f64]) {
        let start = match self.last {
            Some((last, start)) if last == cluster => start,
            _ => {
                let next = self.numbers.len();
                let start = *self.numbers.entry(cluster).or_insert(next) * parameters;
                if start == self.sums.len() {
                    self.sums.resize(start + parameters, 0.0);
                }
                self.last = Some((cluster, start));
                start
            }
        };
        let start = start + from;
        for (sum, value) in self.sums[start..start + score.len()].iter_mut().zip(score) {
            *sum += value;
        }
    }

    fn meat(&self, parameters: usize) -> Option<Symmetric> {
        let clusters = self.numbers.len() as f64;
        if clusters < 2.0 {
            return None;
        }
        let mut meat = Symmetric::zeros(parameters);
        let factor = clusters / (clusters - 1.0);
        let row = |at: usize| &self.sums[at * parameters..(at + 1) * parameters];
        let whole = self.numbers.len() / 4 * 4;
        // Long rows are mostly zeros, which one row at a time are skipped.
        let by_four = if parameters <= 32 { whole } else { 0 };
        for at in (0..by_four).step_by(4) {
            let rows = [row(at), row(at + 1), row(at + 2), row(at + 3)];
            meat.add_outers(rows, [factor; 4]);
        }
        for at in by_four..self.numbers.len() {
            meat.add_outer(row(at), factor);
        }
        Some(meat)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of a mean of four observations in two clusters, the influences are (y − mean) / 4:
    /// cluster sums ±1/2, so the variance is 2 × (1/4 + 1/4) = 1.
    #[test]
    fn mean_by_hand() {
        let mut sums = ScoreSums::new(1, Clustering::OneWay);
        for (cluster, y) in [(7, 1.0), (7, 2.0), (9, 3.0), (9, 4.0)] {
            sums.add([cluster, 0], &[(y - 2.5) / 4.0]);
        }
        let got = sums.of_influence().unwrap();
        assert!((got.matrix.get(0, 0) - 1.0).abs() < 1e-14);
        assert_eq!((got.clusters, got.clipped), (2, false));
    }

    /// Where both ways are the same clusters, so are the intersections, and two ways give
    /// what one way gives.
    #[test]
    fn twice_the_same_way() {
        let mut one = ScoreSums::new(2, Clustering::OneWay);
        let mut two = ScoreSums::new(2, Clustering::TwoWay);
        for at in 0u32..50 {
            let score = [f64::from(at % 7) - 3.0, f64::from(at % 5) - 2.0];
            one.add([at % 10, at % 10], &score);
            two.add([at % 10, at % 10], &score);
        }
        let (one, two) = (one.of_influence().unwrap(), two.of_influence().unwrap());
        for (row, column) in [(0, 0), (0, 1), (1, 1)] {
            let difference = one.matrix.get(row, column) - two.matrix.get(row, column);
            assert!(difference.abs() < 1e-12);
        }
    }

    /// Rows and columns of a two-by-two table whose scores cancel in both ways leave a
    /// negative variance, which becomes 0 and has no standard error.
    #[test]
    fn negative_variance_is_clipped() {
        let mut sums = ScoreSums::new(1, Clustering::TwoWay);
        for (first, second, score) in [(0, 0, 1.0), (0, 1, -1.0), (1, 0, -1.0), (1, 1, 1.0)] {
            sums.add([first, second], &[score]);
        }
        let got = sums.of_influence().unwrap();
        assert!(got.clipped);
        assert_eq!(got.error(0), None);
    }

    #[test]
    fn one_cluster_gives_no_variance() {
        let mut sums = ScoreSums::new(1, Clustering::OneWay);
        sums.add([3, 1], &[0.5]);
        sums.add([3, 2], &[-0.5]);
        assert_eq!(sums.of_influence(), None);
    }
}
