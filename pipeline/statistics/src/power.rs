//! How many events it takes to find that a ratio differs from 1.
//!
//! A ratio whose logarithm has the standard error s is found to differ from 1 at the level α with the chance 1 − β
//! where |log ratio| = (z₁₋α⸝₂ + z₁₋β) s. The squared error falls as the events rise, so that from the
//! events and the error there are, one has the events that are needed. The error by the jackknife or by
//! clusters already allows for the dependence of turns of one game.
//!
//! Source: Schoenfeld 1983 for numbers of events, in full in [`crate::sources`]; the square-root law
//! of the standard error is common practice, no source.

use crate::quantile;

/// The chance with which the difference is to be found.
pub const CHANCE: f64 = 0.8;

/// The ratio asked about where nothing else is said.
pub const RATIO: f64 = 1.1;

/// Events needed to tell `ratio` from 1 with the chance [`CHANCE`], at a two-sided test that leaves
/// `level` to the interval; `events` gave a standard error of `se` for the logarithm of a ratio.
///
/// `None` where there is no such number.
///
/// ```
/// use hobble_statistics::power::events_needed;
///
/// // Two groups of equal size, one event each: the error of the log ratio is √2.
/// let needed = events_needed(1.0, 2.0_f64.sqrt(), 1.1, 0.95).unwrap();
/// assert_eq!(needed.round(), 1728.0);
/// ```
pub fn events_needed(events: f64, se: f64, ratio: f64, level: f64) -> Option<f64> {
    // `normal` takes what lies between two bounds; one-sided 80 % is two-sided 60 %.
    let z = quantile::normal(level) + quantile::normal(2.0 * CHANCE - 1.0);
    let needed = events * (z * se / ratio.ln()).powi(2);
    (needed.is_finite() && needed > 0.0).then_some(needed)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// z for 97.5 % and 80 % are 1.959964 and 0.841621 (scipy 1.17.1, `scipy.stats.norm.ppf`).
    #[test]
    fn by_hand() {
        let z: f64 = 1.959_964 + 0.841_621;
        let want = 50.0 * (z * 0.2 / 1.1_f64.ln()).powi(2);
        let got = events_needed(50.0, 0.2, 1.1, 0.95).unwrap();
        assert!((got / want - 1.0).abs() < 1e-5, "{got} {want}");
        // Half the ratio's logarithm takes four times as many; below 1 it is the same.
        let half = events_needed(50.0, 0.2, 1.1_f64.sqrt(), 0.95).unwrap();
        assert!((half / got - 4.0).abs() < 1e-9);
        let below = events_needed(50.0, 0.2, 1.0 / 1.1, 0.95).unwrap();
        assert!((below / got - 1.0).abs() < 1e-9);
        assert_eq!(events_needed(0.0, 0.2, 1.1, 0.95), None);
        assert_eq!(events_needed(5.0, f64::NAN, 1.1, 0.95), None);
        assert_eq!(events_needed(5.0, 0.2, 1.0, 0.95), None);
    }
}
