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
    fn every_figure_at_full_precision() {
        let answer = sample::answer();
        let text = json(&answer).unwrap();
        let row = &answer.rows[0];
        for figure in [
            row.raw.difference.value,
            row.standardised
                .ratio
                .jackknife
                .map(|interval| interval.high),
            row.held.jackknife.and_then(|interval| interval.se),
        ] {
            // Rust prints the shortest decimal that reads back to the same bits.
            let figure = figure.unwrap().to_string();
            assert!(figure.len() > 10 && text.contains(&figure), "{figure}");
        }
    }

    #[test]
    fn reads_back() {
        let answer = sample::answer();
        let text = json(&answer).unwrap();
        let back: Answer = serde_json::from_str(&text).unwrap();
        assert_eq!(back.examples, answer.examples);
        assert_eq!(back.parameters, answer.parameters);
        assert_eq!(back.rows.len(), answer.rows.len());
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(value["rows"][0]["group"]["kind"], "knight");
        assert_eq!(value["parameters"]["outcome"], "lost");
        assert_eq!(
            value["rows"][1]["standardised"]["ratio"]["jackknife"],
            serde_json::Value::Null
        );
    }
}
