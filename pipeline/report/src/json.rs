//! A report's answer as JSON: every field by its own name, figures at full precision.

use crate::report::Report;

/// The answer behind a report as indented JSON, ending in a line break.
///
/// # Errors
///
/// Where a value cannot be written as JSON.
pub fn json(report: &Report<'_>) -> serde_json::Result<String> {
    report.answer.json().map(|json| json + "\n")
}
