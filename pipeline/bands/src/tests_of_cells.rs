//! Tests: each level against all levels, and each measure's trend over the bands.
//!
//! Whether bands lie on their line is told by what the line leaves over: the sum of the squared
//! distances, each divided by the band's squared standard error, has a chi-squared distribution
//! with two degrees of freedom fewer than bands, were the bands independent. They nearly are: a
//! game has two players, mostly of one band or of neighbours.
//!
//! Source: Grizzle, Starmer and Koch 1969, in full in [`hobble_statistics::sources`].

use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::counts::FOLDS;
use super::figures::{Replicates, Worked, error};
use hobble_statistics::StandardError;
use hobble_statistics::risk::Scale;

/// The cell over all levels (a ratio, of odds where the scale is that of the odds), and the
/// p-value of that being 1. Each fold leaves both together, so the jackknife allows for the
/// cell being a part of the whole. The standard error is made as many times `wider` as the cell's
/// interval is by games and players.
pub fn against_all(worked: &Worked, scale: Scale, wider: f64) -> Option<(f64, f64)> {
    let overall = worked.overall.as_ref()?;
    let difference = |cell: f64, all: f64| scale.forward(cell) - scale.forward(all);
    let whole = difference(worked.figure.whole, overall.whole);
    let error = error(overall.present, worked.folds, |fold| {
        difference(worked.figure.without[fold], overall.without[fold])
    })?;
    error.times(wider).p(whole).map(|p| (whole.exp(), p))
}

/// A trend over rating.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Change on the scale with 100 points.
    pub per_100: f64,
    /// Lower bound.
    pub low: f64,
    /// Upper bound.
    pub high: f64,
    /// Two-sided p-value of no change.
    pub p: f64,
    /// p-value of the bands lying on the line.
    pub p_line: f64,
}

/// One band of a trend.
#[derive(Debug)]
pub struct Point<'a> {
    /// Rating at its middle.
    pub rating: f64,
    /// Its figure.
    pub figure: &'a Replicates,
    /// Its standard error by games.
    pub error: StandardError,
    /// How many times as wide its interval is by games and players: 1 or more.
    pub wider: f64,
}

impl Point<'_> {
    /// The squared standard error by which it is weighted.
    fn variance(&self) -> f64 {
        (self.error.se * self.wider).powi(2)
    }
}

/// The straight line through the bands' figures on the scale, each weighted by one over its
/// squared standard error, with its interval by leaving out one fold each; `None` with fewer
/// than three bands. Where intervals by games and players are wider, so is that of the line, as the
/// bands' errors say it would be, were they independent.
pub fn slope(points: &[Point<'_>], scale: Scale, level: f64) -> Option<Slope> {
    if points.len() < 3 {
        return None;
    }
    let weights: Vec<f64> = points
        .iter()
        .map(|point| point.variance().recip())
        .collect();
    let middle = points
        .iter()
        .zip(&weights)
        .map(|(p, w)| p.rating * w)
        .sum::<f64>()
        / weights.iter().sum::<f64>();
    let squares: f64 = points
        .iter()
        .zip(&weights)
        .map(|(point, weight)| weight * (point.rating - middle).powi(2))
        .sum();
    let of = |figure: &dyn Fn(&Replicates) -> f64| {
        100.0
            * points
                .iter()
                .zip(&weights)
                .map(|(point, weight)| {
                    weight * (point.rating - middle) * scale.forward(figure(point.figure))
                })
                .sum::<f64>()
            / squares
    };
    let present = std::array::from_fn(|fold: usize| {
        fold < FOLDS && points.iter().any(|point| point.figure.present[fold])
    });
    // The band with the fewest folds says how much is known.
    let folds = points.iter().map(|point| point.error.df + 1).min()?;
    let error = error(present, folds, |fold| of(&|figure| figure.without[fold]))?;
    let each = |variance: &dyn Fn(&Point<'_>) -> f64| -> f64 {
        let terms = points.iter().zip(&weights);
        terms
            .map(|(point, weight)| (weight * (point.rating - middle)).powi(2) * variance(point))
            .sum()
    };
    let wider = each(&|point| point.variance()) / each(&|point| point.error.se.powi(2));
    let error = error.times(wider.sqrt());
    let per_100 = of(&|figure| figure.whole);
    let interval = error.interval(Scale::Plain, per_100, level)?;
    let figures = points.iter().map(|point| scale.forward(point.figure.whole));
    let figures: Vec<f64> = figures.collect();
    let total: f64 = weights.iter().sum();
    let height = figures
        .iter()
        .zip(&weights)
        .map(|(y, w)| y * w)
        .sum::<f64>()
        / total;
    let left_over: f64 = points
        .iter()
        .zip(&weights)
        .zip(&figures)
        .map(|((point, weight), figure)| {
            let fitted = height + per_100 / 100.0 * (point.rating - middle);
            weight * (figure - fitted).powi(2)
        })
        .sum();
    let more = ChiSquared::new(points.len() as f64 - 2.0).ok()?;
    Some(Slope {
        per_100,
        low: interval.low,
        high: interval.high,
        p: error.p(per_100)?,
        p_line: more.sf(left_over),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(rise: f64, at: f64) -> Replicates {
        let on = |shift: f64| (rise * at + shift).exp();
        Replicates {
            whole: on(0.0),
            without: std::array::from_fn(|fold| on(0.001 * rise * (fold as f64 - 31.5) * at)),
            present: [true; FOLDS],
        }
    }

    /// Figures at ratings, each with the same error.
    fn points<'a>(ratings: &[f64], figures: &'a [Replicates]) -> Vec<Point<'a>> {
        let at = |(&rating, figure): (&f64, &'a Replicates)| Point {
            rating,
            figure,
            error: StandardError { se: 0.1, df: 63 },
            wider: 1.0,
        };
        ratings.iter().zip(figures).map(at).collect()
    }

    #[test]
    fn a_straight_line_has_its_slope() {
        let ratings = [1500.0, 1700.0, 1900.0, 2100.0];
        let figures = ratings.map(|rating| line(0.002, rating));
        let points = points(&ratings, &figures);
        let got = slope(&points, Scale::Log, 0.95).unwrap();
        assert!((got.per_100 - 0.2).abs() < 1e-12, "{got:?}");
        assert!(got.low < 0.2 && got.high > 0.2 && got.p < 0.05);
        assert!(got.p_line > 0.999_999, "{got:?}");
        // Each band's interval twice as wide: so is that of the line.
        let wide: Vec<Point<'_>> = points
            .iter()
            .map(|point| Point {
                wider: 2.0,
                ..*point
            })
            .collect();
        let wide = slope(&wide, Scale::Log, 0.95).unwrap();
        assert!(((wide.high - wide.low) / (got.high - got.low) - 2.0).abs() < 1e-9);
        assert!((wide.per_100 - got.per_100).abs() < 1e-12 && wide.p > got.p);
        assert_eq!(slope(&points[..2], Scale::Log, 0.95), None);
    }

    /// By hand: the figures 0, 0.3, 0 leave 0.1, 0.2 and 0.1 beside their level line, or 6 squared
    /// errors of 0.1; one degree of freedom leaves p = 0.014306 (scipy 1.17.1, `scipy.stats.chi2.sf`).
    #[test]
    fn bands_beside_their_line() {
        let ratings = [1500.0, 1700.0, 1900.0];
        let mut figures = [0.0, 0.3, 0.0].map(|height: f64| {
            let mut figure = line(0.0, 0.0);
            figure.whole = height.exp();
            figure.without = [figure.whole; FOLDS];
            figure
        });
        // The slope needs an error; how large makes no difference here.
        figures[0].without[0] *= 1.01;
        let points = points(&ratings, &figures);
        let got = slope(&points, Scale::Log, 0.95).unwrap();
        assert!((got.p_line - 0.014_306).abs() < 1e-5, "{got:?}");
    }
}
