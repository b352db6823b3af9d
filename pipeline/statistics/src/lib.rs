//! The statistics, one method a file, each with its published source.
//!
//! Everything here works on plain numbers; nothing knows of chess or of tables.
//!
//! | File | Method | Published source |
//! |---|---|---|
//! | [`jackknife`] | interval of any figure by leaving out one group at a time | Tukey 1958; Efron 1982 |
//! | [`standardise`] | direct standardisation to the exposed group | Miettinen 1972 |
//! | [`wilson`] | score interval of a rate | Wilson 1927 |
//! | [`risk`] | intervals of a risk ratio and of a risk difference | Katz and others 1978; Newcombe 1998 |
//! | [`quantile`] | quantiles of the normal and of Student's t distribution | the library statrs, polished by Newton's method |
//! | [`interval`] | what an estimator gives: a figure and its bounds | |
//! | [`few`] | when counts are too few for an interval | a rule of this program |
//!
//! ```
//! use hobble_statistics::risk::Scale;
//! use hobble_statistics::{LEVEL, jackknife};
//!
//! // Four folds of ten trials each, with 1, 2, 3 and 2 events.
//! let events = [1.0, 2.0, 3.0, 2.0];
//! let without_one: Vec<f64> = events
//!     .iter()
//!     .map(|of_fold| Scale::Logit.forward((8.0 - of_fold) / 30.0))
//!     .collect();
//! let interval = jackknife::interval(Scale::Logit, 8.0 / 40.0, &without_one, 4, LEVEL);
//! assert!(interval.is_some_and(|interval| interval.low < 0.2 && 0.2 < interval.high));
//! ```

pub mod few;
pub mod interval;
pub mod jackknife;
pub mod quantile;
pub mod risk;
pub mod standardise;
pub mod wilson;

pub use few::TooFew;
pub use interval::{Bounds, Estimate, Interval, LEVEL, StandardError};
