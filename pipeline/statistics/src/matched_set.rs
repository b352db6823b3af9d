//! Conditional log-likelihood of one matched set, with its derivatives.
//!
//! Given that c of the m rows of a set are cases, the likelihood is
//!
//! ```text
//! exp(Σ over cases of βᵀx) / Σ over all choices C of c rows of exp(Σ over C of βᵀx)
//! ```
//!
//! For one case the sum has m terms. For more it is worked out row by row: with B(c, j) the
//! sum over choices of c of the first j rows, B(c, j) = B(c, j − 1) + exp(βᵀxⱼ) B(c − 1, j − 1),
//! and its derivatives likewise.
//!
//! Source: Gail, Lubin and Rubinstein 1981, in full in [`crate::sources`].

use crate::newton::Derivatives;
use crate::symmetric::Symmetric;

/// Buffers that are used again for each set.
pub(crate) struct Scratch {
    /// exp(βᵀx) of each row, divided by the largest.
    weights: Vec<f64>,
    /// Score of the last set: observed less expected covariates of the cases.
    pub score: Vec<f64>,
    /// Whether the information is wanted, which takes most of the time.
    pub information: bool,
    sums: Vec<Choices>,
}

/// Sum over choices of one number of rows, and its derivatives.
struct Choices {
    value: f64,
    gradient: Vec<f64>,
    second: Symmetric,
}

impl Scratch {
    /// Buffers for so many covariates.
    pub fn new(covariates: usize) -> Scratch {
        Scratch {
            weights: Vec::new(),
            score: vec![0.0; covariates],
            information: true,
            sums: Vec::new(),
        }
    }
}

/// Adds a set of one case. `differences` holds, control by control, the covariates of the
/// control less those of the case.
pub(crate) fn add_one_case(
    differences: &[f64],
    beta: &[f64],
    scratch: &mut Scratch,
    out: &mut Derivatives,
) {
    let size = beta.len();
    let rows = differences.chunks_exact(size);
    let largest = exponents(rows.clone(), beta, 0.0, &mut scratch.weights);
    let total = (-largest).exp() + scratch.weights.iter().sum::<f64>();
    out.value -= largest + total.ln();
    let Scratch {
        weights,
        score,
        information,
        ..
    } = scratch;
    score.fill(0.0);
    for (row, weight) in rows.clone().zip(weights.iter_mut()) {
        *weight /= total;
        for (score, x) in score.iter_mut().zip(row) {
            *score -= *weight * x;
        }
    }
    add(&mut out.gradient, score);
    if !*information {
        return;
    }
    // Sets of two to four rows are the most, and take one pass over the matrix.
    let row = |at: usize| &differences[at * size..(at + 1) * size];
    match **weights {
        [a] => out.information.add_outers([row(0)], [a * (1.0 - a)]),
        [a, b] => out
            .information
            .add_outers([row(0), row(1), score], [a, b, -1.0]),
        [a, b, c] => {
            let rows = [row(0), row(1), row(2), score];
            out.information.add_outers(rows, [a, b, c, -1.0]);
        }
        _ => {
            for (row, weight) in rows.zip(weights.iter()) {
                out.information.add_outer(row, *weight);
            }
            out.information.add_outer(score, -1.0);
        }
    }
}

/// Adds a set of `cases` cases, whose rows come first. Rows hold covariates less the mean of
/// the set.
pub(crate) fn add_cases(
    rows: &[f64],
    cases: usize,
    beta: &[f64],
    scratch: &mut Scratch,
    out: &mut Derivatives,
) {
    let size = beta.len();
    let rows = rows.chunks_exact(size);
    let largest = exponents(rows.clone(), beta, f64::NEG_INFINITY, &mut scratch.weights);
    choices(rows.clone(), cases, size, scratch);
    let Scratch { score, sums, .. } = scratch;
    let all = &sums[cases];
    score.fill(0.0);
    for row in rows.take(cases) {
        add(score, row);
        out.value += row.iter().zip(beta).map(|(x, b)| x * b).sum::<f64>();
    }
    out.value -= all.value.ln() + cases as f64 * largest;
    let expected: Vec<f64> = all.gradient.iter().map(|sum| sum / all.value).collect();
    for (score, expected) in score.iter_mut().zip(&expected) {
        *score -= expected;
    }
    out.information.add(&all.second, 1.0 / all.value);
    out.information.add_outer(&expected, -1.0);
    add(&mut out.gradient, score);
}

/// exp(βᵀx) of each row, divided by e to the returned exponent, which is the largest and at
/// least `floor`.
fn exponents<'a>(
    rows: impl Iterator<Item = &'a [f64]>,
    beta: &[f64],
    floor: f64,
    weights: &mut Vec<f64>,
) -> f64 {
    weights.clear();
    weights.extend(rows.map(|row| row.iter().zip(beta).map(|(x, b)| x * b).sum::<f64>()));
    let largest = weights.iter().copied().fold(floor, f64::max);
    for weight in weights.iter_mut() {
        *weight = (*weight - largest).exp();
    }
    largest
}

/// The recursion: `scratch.sums[c]` becomes the sum over choices of c rows, c up to `cases`.
fn choices<'a>(
    rows: impl Iterator<Item = &'a [f64]>,
    cases: usize,
    size: usize,
    scratch: &mut Scratch,
) {
    let Scratch { weights, sums, .. } = scratch;
    while sums.len() <= cases {
        sums.push(Choices {
            value: 0.0,
            gradient: vec![0.0; size],
            second: Symmetric::zeros(size),
        });
    }
    for (number, sum) in sums.iter_mut().enumerate() {
        sum.value = if number == 0 { 1.0 } else { 0.0 };
        sum.gradient.fill(0.0);
        sum.second.clear();
    }
    for (at, (row, &weight)) in rows.zip(weights.iter()).enumerate() {
        for number in (1..=cases.min(at + 1)).rev() {
            let (fewer, more) = sums.split_at_mut(number);
            let (fewer, sum) = (&fewer[number - 1], &mut more[0]);
            let product = (row, fewer.gradient.as_slice());
            sum.second
                .add_product(&fewer.second, product, fewer.value, weight);
            for ((own, other), x) in sum.gradient.iter_mut().zip(&fewer.gradient).zip(row) {
                *own += weight * (other + x * fewer.value);
            }
            sum.value += weight * fewer.value;
        }
    }
}

fn add(sums: &mut [f64], values: &[f64]) {
    for (sum, value) in sums.iter_mut().zip(values) {
        *sum += value;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROWS: [[f64; 2]; 5] = [
        [0.5, 1.0],
        [-1.0, 0.0],
        [0.25, -2.0],
        [2.0, 1.0],
        [-0.5, 0.75],
    ];

    /// Every choice written out, derivatives from expectations over the choices.
    fn by_choices(cases: u32, beta: [f64; 2]) -> Derivatives {
        let mut out = Derivatives::zeros(2);
        let (mut total, mut mean, mut second) = (0.0, [0.0; 2], Symmetric::zeros(2));
        for choice in 0u32..32 {
            if choice.count_ones() != cases {
                continue;
            }
            let mut sum = [0.0; 2];
            for (at, row) in ROWS.iter().enumerate() {
                if choice >> at & 1 == 1 {
                    sum = [sum[0] + row[0], sum[1] + row[1]];
                }
            }
            let weight = (sum[0] * beta[0] + sum[1] * beta[1]).exp();
            if choice == (1 << cases) - 1 {
                out.value = weight.ln();
                out.gradient = sum.to_vec();
            }
            total += weight;
            mean = [mean[0] + weight * sum[0], mean[1] + weight * sum[1]];
            second.add_outer(&sum, weight);
        }
        out.value -= total.ln();
        let mean = [mean[0] / total, mean[1] / total];
        out.gradient = vec![out.gradient[0] - mean[0], out.gradient[1] - mean[1]];
        out.information.add(&second, 1.0 / total);
        out.information.add_outer(&mean, -1.0);
        out
    }

    fn same(got: &Derivatives, want: &Derivatives) {
        assert!((got.value - want.value).abs() < 1e-12);
        for at in 0..2 {
            assert!((got.gradient[at] - want.gradient[at]).abs() < 1e-12);
            for other in 0..2 {
                let difference = got.information.get(at, other) - want.information.get(at, other);
                assert!(difference.abs() < 1e-12);
            }
        }
    }

    #[test]
    fn recursion_is_the_sum_over_choices() {
        for beta in [[0.0, 0.0], [0.7, -0.4], [-3.0, 2.0]] {
            for cases in 1..5 {
                let mut got = Derivatives::zeros(2);
                let mut scratch = Scratch::new(2);
                add_cases(&ROWS.concat(), cases, &beta, &mut scratch, &mut got);
                same(&got, &by_choices(cases as u32, beta));
            }
        }
    }

    #[test]
    fn one_case_is_the_sum_over_choices() {
        let beta = [0.7, -0.4];
        let differences: Vec<f64> = ROWS[1..]
            .iter()
            .flat_map(|row| [row[0] - ROWS[0][0], row[1] - ROWS[0][1]])
            .collect();
        let mut got = Derivatives::zeros(2);
        add_one_case(&differences, &beta, &mut Scratch::new(2), &mut got);
        same(&got, &by_choices(1, beta));
    }

    /// exp of these exponents alone would not be a number.
    #[test]
    fn large_exponents() {
        let mut got = Derivatives::zeros(1);
        let mut scratch = Scratch::new(1);
        add_one_case(&[-3.0, -2.0], &[1000.0], &mut scratch, &mut got);
        assert_eq!((got.value, got.gradient[0]), (0.0, 0.0));
        add_one_case(&[3.0, -2.0], &[1000.0], &mut scratch, &mut got);
        assert_eq!((got.value, got.gradient[0]), (-3000.0, -3.0));
        add_cases(&[200.0, 199.0, 0.0], 2, &[3.0], &mut scratch, &mut got);
        assert_eq!((got.value, got.gradient[0]), (-3000.0, -3.0));
    }
}
