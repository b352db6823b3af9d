//! An answer as JSON: every field of [`Answer`] by its own name, figures at full precision.

use crate::answer::Answer;

/// The answer as indented JSON, ending in a line break.
///
/// # Errors
///
/// None in practice: an answer holds nothing that JSON cannot.
pub fn json(answer: &Answer) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(answer).map(|text| text + "\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::sample;

    #[test]
    fn reads_back_to_the_last_bit() {
        let answer = sample::answer();
        let text = json(&answer).unwrap();
        assert_eq!(serde_json::from_str::<Answer>(&text).unwrap(), answer);
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(value["rows"][0]["group"]["kind"], "knight");
        assert_eq!(value["parameters"]["outcome"], "lost");
    }
}
