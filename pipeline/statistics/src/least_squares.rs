//! Linear models by least squares, from sums of products.
//!
//! Every observation is a list of whole numbers, the first of them 1. What a linear model of any
//! of them by others needs of the observations is Σ z zᵀ: its size does not depend on how many
//! there are, and sums of groups add up and can be taken away. So a model is fitted again without
//! one group of games at a time, and the jackknife gives standard errors that allow for games
//! whose positions are alike. Products of whole numbers are exact: nothing depends on the order.
//!
//! With C the sums of squares and products about the means, b = Cₓₓ⁻¹ Cₓᵧ.
//!
//! Sources: Gauss 1823, Draper and Smith 1998 (chapters 5 and 6, from memory), in full in
//! [`crate::sources`].

use serde::{Deserialize, Serialize};

use crate::symmetric::Symmetric;

/// Σ z zᵀ over observations z of whole numbers, the upper half row by row.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Products {
    size: usize,
    sums: Vec<i64>,
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The outcome where all covariates are 0.
    pub intercept: f64,
    /// By how much the outcome rises with 1 more of each covariate, the others equal.
    pub slopes: Vec<f64>,
    /// Share of the outcome's variance that the covariates account for.
    pub explained: f64,
}

impl Products {
    /// No observation of so many numbers yet.
    pub fn new(size: usize) -> Products {
        Products {
            size,
            sums: vec![0; size * (size + 1) / 2],
        }
    }

    /// Those of one observation; its first number is 1.
    pub fn of(observation: &[i32]) -> Products {
        let mut products = Products::new(observation.len());
        products.add(observation);
        products
    }

    /// Adds an observation; its first number is 1.
    ///
    /// # Panics
    ///
    /// Where it has another number of numbers.
    pub fn add(&mut self, observation: &[i32]) {
        assert_eq!(observation.len(), self.size, "numbers of an observation");
        let mut sums = self.sums.as_mut_slice();
        for (place, one) in observation.iter().enumerate() {
            let (row, rest) = sums.split_at_mut(self.size - place);
            for (sum, other) in row.iter_mut().zip(&observation[place..]) {
                *sum += i64::from(*one) * i64::from(*other);
            }
            sums = rest;
        }
    }

    /// Adds the observations of another.
    ///
    /// # Panics
    ///
    /// Where both are there and have another number of numbers.
    pub fn merge(&mut self, other: &Products) {
        if self.size == 0 {
            *self = other.clone();
            return;
        }
        assert!(
            other.size == 0 || other.size == self.size,
            "numbers of an observation"
        );
        for (sum, more) in self.sums.iter_mut().zip(&other.sums) {
            *sum += more;
        }
    }

    /// The same without the observations of a group.
    #[must_use]
    pub fn without(&self, group: &Products) -> Products {
        let sums = self.sums.iter().zip(&group.sums);
        Products {
            size: self.size,
            sums: sums.map(|(sum, part)| sum - part).collect(),
        }
    }

    /// Number of observations.
    pub fn count(&self) -> u64 {
        self.sums
            .first()
            .map_or(0, |count| u64::try_from(*count).unwrap_or(0))
    }

    /// Mean of a number; `None` without observations.
    pub fn mean(&self, at: usize) -> Option<f64> {
        (self.count() > 0).then(|| self.at(0, at) as f64 / self.count() as f64)
    }

    /// Σ of the product of two numbers.
    fn at(&self, one: usize, other: usize) -> i64 {
        let (row, column) = (one.min(other), one.max(other));
        // Rows before this one hold size, size − 1, … numbers.
        self.sums[row * self.size - row * row.saturating_sub(1) / 2 + column - row]
    }

    /// Σ (x − x̄)(y − ȳ), rounded once.
    fn about_means(&self, one: usize, other: usize) -> f64 {
        let count = i128::from(self.at(0, 0));
        let whole = count * i128::from(self.at(one, other))
            - i128::from(self.at(0, one)) * i128::from(self.at(0, other));
        whole as f64 / count as f64
    }

    /// Fits a number by others, named by their places.
    ///
    /// `None` where the observations are too few, or a covariate follows from others.
    pub fn fit(&self, outcome: usize, covariates: &[usize]) -> Option<Line> {
        if self.count() <= covariates.len() as u64 + 1 {
            return None;
        }
        let mut squares = Symmetric::zeros(covariates.len());
        for (row, one) in covariates.iter().enumerate() {
            for (column, other) in covariates.iter().enumerate().skip(row) {
                squares.add_cross(row, column, self.about_means(*one, *other));
            }
        }
        let with_outcome: Vec<f64> = covariates
            .iter()
            .map(|covariate| self.about_means(*covariate, outcome))
            .collect();
        let slopes = squares.inverse()?.times(&with_outcome);
        let mut intercept = self.mean(outcome)?;
        let mut accounted = 0.0;
        for ((slope, covariate), product) in slopes.iter().zip(covariates).zip(&with_outcome) {
            intercept -= slope * self.mean(*covariate)?;
            accounted += slope * product;
        }
        Some(Line {
            intercept,
            slopes,
            explained: accounted / self.about_means(outcome, outcome),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(observations: &[[i32; 4]]) -> Products {
        let mut products = Products::new(4);
        for observation in observations {
            products.add(observation);
        }
        products
    }

    /// y = 3 + 2 a − 5 b without error.
    fn exact() -> Vec<[i32; 4]> {
        [(1, 1), (2, 5), (4, 4), (7, 0), (9, 3)]
            .iter()
            .map(|&(a, b)| [1, a, b, 3 + 2 * a - 5 * b])
            .collect()
    }

    #[test]
    fn an_exact_plane() {
        let line = of(&exact()).fit(3, &[1, 2]).unwrap();
        assert!((line.intercept - 3.0).abs() < 1e-12);
        assert!((line.slopes[0] - 2.0).abs() < 1e-12 && (line.slopes[1] + 5.0).abs() < 1e-12);
        assert!((line.explained - 1.0).abs() < 1e-12);
    }

    /// By hand: x = 1, 2, 3 and y = 2, 2, 5: slope 3/2, intercept 0, R² = 4.5 / 6.
    #[test]
    fn a_line_by_hand() {
        let products = of(&[[1, 1, 0, 2], [1, 2, 0, 2], [1, 3, 0, 5]]);
        let line = products.fit(3, &[1]).unwrap();
        assert!((line.slopes[0] - 1.5).abs() < 1e-14 && line.intercept.abs() < 1e-14);
        assert!((line.explained - 0.75).abs() < 1e-14);
        assert_eq!((products.count(), products.mean(3)), (3, Some(3.0)));
    }

    /// Taking a group away leaves what the others alone give.
    #[test]
    fn groups_add_up() {
        let all = exact();
        let (first, rest) = all.split_at(1);
        let mut both = Products::default();
        both.merge(&of(first));
        both.merge(&of(rest));
        both.merge(&Products::default());
        assert_eq!(both, of(&all));
        assert_eq!(both.without(&of(first)), of(rest));
        assert_eq!(Products::of(&all[0]), of(first));
    }

    #[test]
    fn no_model() {
        assert_eq!(Products::new(4).fit(3, &[1]), None);
        assert_eq!(of(&exact()[..2]).fit(3, &[1, 2]), None);
        // The second covariate is twice the first.
        let same: Vec<[i32; 4]> = (0..9).map(|a| [1, a, 2 * a, a * a]).collect();
        assert_eq!(of(&same).fit(3, &[1, 2]), None);
        // Equal everywhere.
        let still: Vec<[i32; 4]> = (0..9).map(|a| [1, 4, a, a]).collect();
        assert_eq!(of(&still).fit(3, &[1]), None);
    }
}
