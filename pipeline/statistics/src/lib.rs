//! The statistics, one method a file, each with its published source.
//!
//! Everything here works on plain numbers; nothing knows of chess or of tables.
//!
//! | File | Method | Published source |
//! |---|---|---|
//! | [`jackknife`] | interval of any figure by leaving out one group at a time | Tukey 1958; Efron 1982 |
//! | [`standardise`] | direct standardisation to the exposed group | Miettinen 1972 |
//! | [`conditional_logit`] | odds ratios within matched sets, exact | Breslow and Day 1980; Gail and others 1981 |
//! | [`glm`] | logit and log models with weights | McCullagh and Nelder 1989; Zou 2004 |
//! | [`least_squares`] | linear models from sums of products | Gauss 1823; Draper and Smith 1998 |
//! | [`g_computation`] | standardised risk ratio and difference by a model | Robins 1986; Stefanski and Boos 2002 |
//! | [`clusters`] | covariance by clusters, one way and two ways | Liang and Zeger 1986; Cameron and others 2011 |
//! | [`trend`] | line through ordered levels, and a test that it is one | Grizzle and others 1969 |
//! | [`hazard`] | hazard by turn with a state that comes and goes | Breslow 1974; Lin and Wei 1989 |
//! | [`incidence`] | cumulative incidence with competing ends | Aalen and Johansen 1978 |
//! | [`e_value`] | what an unknown cause would have to do | VanderWeele and Ding 2017 |
//! | [`false_discovery`] | adjusted p-values of many tests | Benjamini and Hochberg 1995 |
//! | [`holm`] | adjusted p-values, no false alarm among many | Holm 1979 |
//! | [`power`] | events needed to tell a ratio from 1 | Schoenfeld 1983 |
//! | [`quantile`] | quantiles of the normal and of Student's t distribution | the library statrs, polished by Newton's method |
//! | [`symmetric`] | small symmetric matrices | the library nalgebra |
//! | [`fit`] | what a fitted model gives, or why it gives nothing | |
//! | [`interval`] | what an estimator gives: a figure and its bounds | |
//! | [`sources`] | the publications in full, and where each was looked up | |
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

mod bounds;
mod cell;
pub mod clusters;
pub mod conditional_logit;
pub mod e_value;
pub mod false_discovery;
pub mod few;
mod figures;
pub mod fit;
mod fit_error;
pub mod g_computation;
pub mod glm;
pub mod hazard;
pub mod holm;
pub mod incidence;
pub mod interval;
pub mod jackknife;
pub mod least_squares;
mod matched_set;
mod newton;
pub mod power;
pub mod quantile;
pub mod ratio_clusters;
pub mod risk;
pub mod sources;
pub mod standardise;
mod strata;
pub mod symmetric;
pub mod trend;

pub use few::TooFew;
pub use interval::{Bounds, Estimate, Interval, LEVEL, StandardError};
