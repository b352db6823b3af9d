//! The answer as JSON: every field by its own name, figures at full precision.

use crate::habits::HabitsAnswer;

/// The answer as indented JSON, ending in a line break.
///
/// # Errors
///
/// None in practice: an answer holds nothing that JSON cannot.
pub fn json(answer: &HabitsAnswer) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(answer).map(|text| text + "\n")
}
