//! Small symmetric matrices: information, covariance and what is worked out from them.
//!
//! Eigenvalues come from the library nalgebra. Sizes are numbers of covariates, some twenty.

use nalgebra::{DMatrix, SymmetricEigen};

/// A symmetric matrix, square and row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Symmetric {
    size: usize,
    values: Vec<f64>,
}

impl Symmetric {
    /// All zero.
    pub fn zeros(size: usize) -> Symmetric {
        Symmetric {
            size,
            values: vec![0.0; size * size],
        }
    }

    /// Number of rows.
    pub fn size(&self) -> usize {
        self.size
    }

    /// The value in a row and a column.
    ///
    /// # Panics
    ///
    /// Outside the matrix.
    pub fn get(&self, row: usize, column: usize) -> f64 {
        assert!(row < self.size && column < self.size, "outside the matrix");
        let (low, high) = (row.min(column), row.max(column));
        self.values[low * self.size + high]
    }

    /// Sets every value to zero.
    pub(crate) fn clear(&mut self) {
        self.values.fill(0.0);
    }

    /// Adds `weight` × `x` `x`ᵀ. Zeros of `x` cost nothing.
    pub(crate) fn add_outer(&mut self, x: &[f64], weight: f64) {
        let size = self.size;
        for (row, &value) in x.iter().enumerate() {
            if value == 0.0 {
                continue;
            }
            let by = weight * value;
            let upper = &mut self.values[row * size + row..(row + 1) * size];
            for (sum, other) in upper.iter_mut().zip(&x[row..]) {
                *sum += by * other;
            }
        }
    }

    /// Adds to the value in a row and a column, and to its mirror image.
    pub(crate) fn add_cross(&mut self, row: usize, column: usize, value: f64) {
        self.values[row.min(column) * self.size + row.max(column)] += value;
    }

    /// Adds the sum of `weights` × `rows` `rows`ᵀ: several rows in one pass over the matrix.
    pub(crate) fn add_outers<const ROWS: usize>(
        &mut self,
        rows: [&[f64]; ROWS],
        weights: [f64; ROWS],
    ) {
        let size = self.size;
        let rows = rows.map(|row| &row[..size]);
        for at in 0..size {
            let mut by = weights;
            for (by, row) in by.iter_mut().zip(rows) {
                *by *= row[at];
            }
            let rest = rows.map(|row| &row[at..]);
            let upper = &mut self.values[at * size + at..(at + 1) * size];
            for (column, sum) in upper.iter_mut().enumerate() {
                for (by, row) in by.iter().zip(rest) {
                    *sum += by * row[column];
                }
            }
        }
    }

    /// Adds `weight` × (`other` + `x` `y`ᵀ + `y` `x`ᵀ + `times` `x` `x`ᵀ).
    pub(crate) fn add_product(
        &mut self,
        other: &Symmetric,
        (x, y): (&[f64], &[f64]),
        times: f64,
        weight: f64,
    ) {
        let size = self.size;
        let (x, y) = (&x[..size], &y[..size]);
        for row in 0..size {
            let here = row * size + row..(row + 1) * size;
            let (by_x, by_y) = (y[row] + times * x[row], x[row]);
            let others = other.values[here.clone()]
                .iter()
                .zip(&x[row..])
                .zip(&y[row..]);
            for (sum, ((other, x), y)) in self.values[here].iter_mut().zip(others) {
                *sum += weight * (other + by_x * x + by_y * y);
            }
        }
    }

    /// Adds `weight` × `other`.
    pub(crate) fn add(&mut self, other: &Symmetric, weight: f64) {
        for (sum, value) in self.values.iter_mut().zip(&other.values) {
            *sum += weight * value;
        }
    }

    /// The matrix × `x`.
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        (0..self.size)
            .map(|row| (0..self.size).map(|at| self.get(row, at) * x[at]).sum())
            .collect()
    }

    /// `x`ᵀ × the matrix × `x`: the variance of a linear combination.
    pub fn quadratic(&self, x: &[f64]) -> f64 {
        self.times(x).iter().zip(x).map(|(a, b)| a * b).sum()
    }

    /// `self` × `middle` × `self`.
    pub(crate) fn around(&self, middle: &Symmetric) -> Symmetric {
        let (outer, middle) = (self.full(), middle.full());
        Symmetric::of(&(&outer * middle * &outer))
    }

    /// Rows and columns at some positions.
    pub fn part(&self, at: &[usize]) -> Symmetric {
        let mut part = Symmetric::zeros(at.len());
        for (row, &from) in at.iter().enumerate() {
            for (column, &to) in at.iter().enumerate() {
                part.values[row * at.len() + column] = self.get(from, to);
            }
        }
        part
    }

    /// Row and column i multiplied by `by[i]`.
    pub(crate) fn scaled(&self, by: &[f64]) -> Symmetric {
        let mut scaled = self.clone();
        for row in 0..self.size {
            for column in 0..self.size {
                scaled.values[row * self.size + column] *= by[row] * by[column];
            }
        }
        scaled
    }

    /// The nearest matrix without negative eigenvalues, and whether any was set to zero.
    pub fn without_negative(&self) -> (Symmetric, bool) {
        if !self.is_finite() {
            return (self.clone(), false);
        }
        let eigen = SymmetricEigen::new(self.full());
        let largest = eigen.eigenvalues.amax();
        // Below this an eigenvalue is rounding, not a negative variance.
        let rounding = 1e-12 * largest;
        if eigen.eigenvalues.iter().all(|value| *value >= -rounding) {
            return (self.clone(), false);
        }
        let kept = eigen.eigenvalues.map(|value| value.max(0.0));
        let vectors = &eigen.eigenvectors;
        let matrix = vectors * DMatrix::from_diagonal(&kept) * vectors.transpose();
        (Symmetric::of(&matrix), true)
    }

    /// The inverse; `None` where the matrix is not clearly positive definite.
    pub fn inverse(&self) -> Option<Symmetric> {
        let curvature = Curvature::of(self, &self.scale())?;
        (curvature.flattest().0 > SINGULAR).then(|| curvature.inverse())
    }

    /// Square roots of the diagonal.
    pub(crate) fn scale(&self) -> Vec<f64> {
        (0..self.size).map(|at| self.get(at, at).sqrt()).collect()
    }

    fn is_finite(&self) -> bool {
        self.values.iter().all(|value| value.is_finite())
    }

    fn full(&self) -> DMatrix<f64> {
        DMatrix::from_fn(self.size, self.size, |row, column| self.get(row, column))
    }

    fn of(matrix: &DMatrix<f64>) -> Symmetric {
        let size = matrix.nrows();
        let mut values = Vec::with_capacity(size * size);
        for row in 0..size {
            values.extend((0..size).map(|at| (matrix[(row, at)] + matrix[(at, row)]) / 2.0));
        }
        Symmetric { size, values }
    }
}

/// Smallest eigenvalue, of a matrix scaled to ones on its diagonal, that can be divided by.
pub(crate) const SINGULAR: f64 = 1e-10;

/// A matrix of second derivatives, scaled and taken apart into its eigenvectors.
pub(crate) struct Curvature {
    scale: Vec<f64>,
    eigen: SymmetricEigen<f64, nalgebra::Dyn>,
}

impl Curvature {
    /// Row and column i of the matrix are divided by `scale[i]` first, so that units of
    /// covariates do not matter.
    ///
    /// `None` where a value is not a finite number: the eigenvectors would never be found.
    pub fn of(matrix: &Symmetric, scale: &[f64]) -> Option<Curvature> {
        if !matrix.is_finite() {
            return None;
        }
        let scaled = DMatrix::from_fn(matrix.size, matrix.size, |row, column| {
            let by = scale[row] * scale[column];
            if by > 0.0 {
                matrix.get(row, column) / by
            } else {
                0.0
            }
        });
        Some(Curvature {
            scale: scale.to_vec(),
            eigen: SymmetricEigen::new(scaled),
        })
    }

    /// The smallest eigenvalue, and the covariate with most weight in its direction.
    pub fn flattest(&self) -> (f64, usize) {
        let values = &self.eigen.eigenvalues;
        let at = (0..values.len())
            .min_by(|a, b| values[*a].total_cmp(&values[*b]))
            .unwrap_or(0);
        let weights = self.eigen.eigenvectors.column(at);
        let covariate = (0..weights.len())
            .max_by(|a, b| weights[*a].abs().total_cmp(&weights[*b].abs()))
            .unwrap_or(0);
        (values[at], covariate)
    }

    /// Inverse of the matrix as it was before scaling.
    pub fn inverse(&self) -> Symmetric {
        let vectors = &self.eigen.eigenvectors;
        let by = self.eigen.eigenvalues.map(|value| 1.0 / value);
        let mut inverse = vectors * DMatrix::from_diagonal(&by) * vectors.transpose();
        for row in 0..self.scale.len() {
            for column in 0..self.scale.len() {
                inverse[(row, column)] /= self.scale[row] * self.scale[column];
            }
        }
        Symmetric::of(&inverse)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example() -> Symmetric {
        let mut matrix = Symmetric::zeros(2);
        matrix.add_outer(&[1.0, 0.0], 3.0);
        matrix.add_outer(&[0.0, 1.0], 1.0);
        matrix.add_cross(0, 1, 1.0);
        matrix
    }

    /// [[4, 2], [2, 3]] / 8 has the inverse [[3, −2], [−2, 4]].
    #[test]
    fn inverse_by_hand() {
        let mut matrix = Symmetric::zeros(2);
        matrix.add_outer(&[2.0, 1.0], 1.0 / 8.0);
        matrix.add_outer(&[0.0, 1.0], 2.0 / 8.0);
        let inverse = matrix.inverse().unwrap();
        for (row, column, want) in [(0, 0, 3.0), (0, 1, -2.0), (1, 0, -2.0), (1, 1, 4.0)] {
            assert!((inverse.get(row, column) - want).abs() < 1e-12);
        }
        assert!((matrix.quadratic(&[1.0, 1.0]) - 11.0 / 8.0).abs() < 1e-14);
    }

    #[test]
    fn singular_has_no_inverse() {
        let mut matrix = Symmetric::zeros(2);
        matrix.add_outer(&[1.0, 2.0], 1.0);
        assert_eq!(matrix.inverse(), None);
        assert_eq!(Symmetric::zeros(1).inverse(), None);
        matrix.add_cross(0, 1, f64::NAN);
        assert_eq!(matrix.inverse(), None);
        assert!(!matrix.without_negative().1);
    }

    /// [[1, 2], [2, 1]] has the eigenvalues 3 and −1; without the second all values are 3/2.
    #[test]
    fn negative_eigenvalue_goes() {
        let mut matrix = Symmetric::zeros(2);
        matrix.add_outer(&[1.0, 0.0], 1.0);
        matrix.add_outer(&[0.0, 1.0], 1.0);
        matrix.add_cross(0, 1, 2.0);
        let (nearest, changed) = matrix.without_negative();
        assert!(changed);
        assert!((nearest.get(0, 0) - 1.5).abs() < 1e-14);
        assert!((nearest.get(0, 1) - 1.5).abs() < 1e-14);
        let (same, changed) = example().without_negative();
        assert!(!changed && same == example());
    }

    #[test]
    fn flattest_direction_names_its_covariate() {
        let mut matrix = Symmetric::zeros(3);
        matrix.add_outer(&[1.0, 0.0, 0.0], 1.0);
        matrix.add_outer(&[0.0, 1.0, 0.0], 1e-12);
        matrix.add_outer(&[0.0, 0.0, 1.0], 1.0);
        let (value, covariate) = Curvature::of(&matrix, &[1.0; 3]).unwrap().flattest();
        assert!(value < SINGULAR && covariate == 1);
    }
}
