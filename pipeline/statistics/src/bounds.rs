//! The two ends of an interval.

/// A lower and an upper bound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Lower bound.
    pub low: f64,
    /// Upper bound.
    pub high: f64,
}
