//! A report's answer as JSON: every field by its own name, figures at full precision.

use serde::Serialize;

use crate::report::Report;

/// An answer that can be written as JSON, whatever its type.
pub trait Answer {
    /// The answer as indented JSON.
    ///
    /// # Errors
    ///
    /// Where a value cannot be written as JSON.
    fn json(&self) -> serde_json::Result<String>;
}

impl<T: Serialize> Answer for T {
    fn json(&self) -> serde_json::Result<String> {
        serde_json::to_string_pretty(self)
    }
}

/// The answer behind a report as indented JSON, ending in a line break.
///
/// # Errors
///
/// Where a value cannot be written as JSON.
pub fn json(report: &Report<'_>) -> serde_json::Result<String> {
    report.answer.json().map(|json| json + "\n")
}
