//! Everything, at full precision.

use crate::bands::BandsAnswer;

/// The answer as indented JSON, ending in a line break.
///
/// # Errors
///
/// None in practice: an answer holds nothing that JSON cannot.
pub fn json(answer: &BandsAnswer) -> serde_json::Result<String> {
    serde_json::to_string_pretty(answer).map(|text| text + "\n")
}
