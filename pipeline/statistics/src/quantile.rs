//! Two-sided quantiles of the normal and Student's t distribution.

use statrs::distribution::{Continuous, ContinuousCDF, Normal, StudentsT};

/// z with `level` of the standard normal distribution between −z and z.
///
/// `level` lies strictly between 0 and 1; outside it the answer is NaN.
pub fn normal(level: f64) -> f64 {
    if !(level > 0.0 && level < 1.0) {
        return f64::NAN;
    }
    Normal::standard().inverse_cdf(0.5 + level / 2.0)
}

/// t with `level` of Student's t distribution on `df` degrees of freedom between −t and t.
///
/// NaN where `df` is 0 or `level` is not strictly between 0 and 1.
pub fn student(level: f64, df: u32) -> f64 {
    if !(level > 0.0 && level < 1.0) {
        return f64::NAN;
    }
    match StudentsT::new(0.0, 1.0, f64::from(df)) {
        Ok(t) => polish(t.inverse_cdf(0.5 + level / 2.0), level, &t),
        Err(_) => f64::NAN,
    }
}

/// A few Newton steps: the library's inverse of t is good to nine digits only, its
/// distribution function to fifteen.
fn polish(start: f64, level: f64, distribution: &StudentsT) -> f64 {
    let upper_tail = (1.0 - level) / 2.0;
    let mut x = start;
    for _ in 0..4 {
        let step = (distribution.sf(x) - upper_tail) / distribution.pdf(x);
        if !step.is_finite() {
            break;
        }
        x += step;
        if step.abs() <= 1e-15 * x.abs() {
            break;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of scipy 1.17.1, `scipy.stats.norm.ppf` of 0.975 and 0.995.
    #[test]
    fn normal_ninety_five_percent() {
        assert!((normal(0.95) - 1.959_963_984_540_054).abs() < 1e-12);
        assert!((normal(0.99) - 2.575_829_303_548_901).abs() < 1e-11);
    }

    /// For 1 and 2 degrees of freedom the quantile is elementary: tan(π (p − 1/2)) and
    /// (2p − 1) √(2 / (4p (1 − p))). For 4 likewise: 2 √(cos(arccos(√a) / 3) / √a − 1) with
    /// a = 4p (1 − p) (W. T. Shaw, "Sampling Student's T distribution – use of the inverse
    /// cumulative distribution function", Journal of Computational Finance 9(4) (2006), 37–73,
    /// as Boost.Math cites it). The others from scipy 1.17.1, `scipy.stats.t.ppf`.
    #[test]
    fn student_ninety_five_percent() {
        let one = (0.475 * std::f64::consts::PI).tan();
        assert!((student(0.95, 1) - one).abs() < 1e-10);
        let p: f64 = 0.975;
        let two = (2.0 * p - 1.0) * (2.0 / (4.0 * p * (1.0 - p))).sqrt();
        assert!((student(0.95, 2) - two).abs() < 1e-12);
        let a: f64 = 4.0 * p * (1.0 - p);
        let four = 2.0 * ((a.sqrt().acos() / 3.0).cos() / a.sqrt() - 1.0).sqrt();
        assert!((student(0.95, 4) - four).abs() < 1e-12);
        assert!((student(0.95, 10) - 2.228_139).abs() < 1e-6);
        assert!((student(0.95, 63) - 1.998_341).abs() < 1e-6);
    }

    #[test]
    fn nonsense_gives_nan() {
        assert!(normal(1.0).is_nan() && normal(0.0).is_nan() && normal(-3.0).is_nan());
        assert!(student(0.95, 0).is_nan() && student(2.0, 5).is_nan());
    }
}
