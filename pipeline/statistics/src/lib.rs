//! The statistics, one method a file, each with its published source.
//!
//! Everything here works on plain numbers; nothing knows of chess or of tables.

pub mod aalen_johansen;
pub mod jackknife;
pub mod kaplan_meier;
pub mod quantile;
pub mod risk;
pub mod standardise;
pub mod wilson;

/// A lower and an upper bound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Lower bound.
    pub low: f64,
    /// Upper bound.
    pub high: f64,
}
