//! Words that the report of a comparison and its plots share.

use hobble_report::number::capital;
use hobble_report::plain_short;

use crate::answer::{Parameters, Row};

/// What is counted, as `lost within 10 moves`.
pub fn outcome(parameters: &Parameters) -> String {
    format!("{} within {} moves", parameters.outcome, parameters.within)
}

/// The confidence level in percent.
pub fn level(parameters: &Parameters) -> String {
    // 0.95 gives 95, 0.995 gives 99.5.
    let percent = parameters.level * 100.0;
    let digits = usize::from((percent - percent.round()).abs() >= 1e-9);
    format!("{percent:.digits$}%")
}

/// A row's name for readers.
pub fn label(row: &Row) -> String {
    capital(&plain_short(&row.label))
}
