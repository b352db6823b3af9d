//! An answer to a claim as text, Markdown, CSV and JSON.

mod csv;
mod markdown;
mod table;
mod text;

pub use csv::csv;
pub use markdown::markdown;
pub use text::text;

use super::answer::ClaimAnswer;

/// The whole answer as JSON.
///
/// # Errors
///
/// Where it cannot be written as JSON.
pub fn json(answer: &ClaimAnswer) -> serde_json::Result<String> {
    let mut json = serde_json::to_string_pretty(answer)?;
    json.push('\n');
    Ok(json)
}
