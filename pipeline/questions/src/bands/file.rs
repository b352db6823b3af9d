//! A report by rating band, as a small TOML file says it.
//!
//! Fields, their defaults and limits are described in `schemas/bands.schema.json`; a test
//! holds the two together.

use super::measures::Split;
use crate::error::AskError;
use crate::fields::{self, Fields};
use crate::question::Overrides;
use crate::terms::{About, MAX_K, WITHIN, YesNo};

/// What is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BandReport {
    /// Name it is asked by: the file's name without `.toml`.
    pub name: String,
    /// Title for readers.
    pub title: String,
    /// Text for readers; paragraphs parted by an empty line.
    pub text: String,
    /// A piece is held where it has this many safe squares or fewer.
    pub k: u8,
    /// Horizon of the loss risk in moves.
    pub within: u32,
    /// Only pieces that have moved, or only such that have not.
    pub developed: YesNo,
    /// What the games are split by, in the order of [`Split::ALL`].
    pub split: Vec<Split>,
    /// Least denominator in turns, moves or spells for a cell to be shown.
    pub minimum_turns: u64,
    /// Least player-games for a cell counted by games to be shown.
    pub minimum_games: u64,
    /// Least folds with anything in them for a cell to be shown.
    pub minimum_folds: u32,
}

/// Fields beside those that every question file may hold.
const FIELDS: [&str; 7] = [
    "k",
    "within",
    "developed",
    "split",
    "minimum_turns",
    "minimum_games",
    "minimum_folds",
];

impl BandReport {
    /// Reads a report from the text of its file; `file` is named in errors.
    ///
    /// # Errors
    ///
    /// The first mistake in the file, with its line and field.
    pub fn parse(name: &str, file: &str, text: &str) -> Result<BandReport, AskError> {
        fields::read(file, text, &FIELDS, |fields| report(fields, name))
    }

    /// The report with what is given beside it.
    ///
    /// # Errors
    ///
    /// Where a value is out of range.
    pub fn with(&self, overrides: &Overrides) -> Result<BandReport, AskError> {
        let out_of_range = |name, what| Err(AskError::Override { name, what });
        let mut report = self.clone();
        if let Some(k) = overrides.k {
            if k > MAX_K {
                return out_of_range("k", format!("{k} is not a whole number from 0 to {MAX_K}"));
            }
            report.k = k;
        }
        if let Some(within) = overrides.within {
            if !WITHIN.contains(&within) {
                return out_of_range("within", not_a_horizon(within.into()));
            }
            report.within = within;
        }
        if let Some(developed) = overrides.developed {
            report.developed = developed;
        }
        Ok(report)
    }
}

fn not_a_horizon(moves: i64) -> String {
    let horizons = WITHIN.map(|moves| moves.to_string()).join(", ");
    format!("{moves} moves is not one of {horizons}")
}

fn report(fields: &Fields<'_>, name: &str) -> Result<BandReport, AskError> {
    if fields.get("about").is_none() {
        return Err(fields.missing("about", "write `about = \"bands\"`"));
    }
    fields.about(About::Bands)?;
    let split = fields
        .words("split", &Split::ALL[1..], split_of, Split::name)?
        .unwrap_or_else(|| Split::ALL[1..].to_vec());
    if split.is_empty() {
        return Err(fields.at("split", "name at least one thing to split by".to_owned()));
    }
    let within = fields.integer("within", 1, 1000)?.unwrap_or(10);
    Ok(BandReport {
        name: name.to_owned(),
        title: fields.required_text("title")?,
        text: fields.required_text("text")?,
        k: fields.small("k", 2, i64::from(MAX_K))?,
        within: u32::try_from(within)
            .ok()
            .filter(|moves| WITHIN.contains(moves))
            .ok_or_else(|| fields.at("within", not_a_horizon(within)))?,
        developed: fields.yes_no("developed")?,
        split: fields::sorted(split),
        minimum_turns: fields.small("minimum_turns", 200, 1_000_000_000)?,
        minimum_games: fields.small("minimum_games", 20, 1_000_000_000)?,
        minimum_folds: fields.small("minimum_folds", 5, 64)?,
    })
}

/// `all` is no split to ask for: it is always there.
fn split_of(word: &str) -> Option<Split> {
    Split::from_name(word).filter(|split| *split != Split::All)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use serde_json::Value as Json;

    use super::*;

    fn parse(rest: &str) -> Result<BandReport, AskError> {
        let text = format!("format = 1\nabout = \"bands\"\ntitle = \"T\"\ntext = \"x\"\n{rest}");
        BandReport::parse("q", "q.toml", &text)
    }

    #[test]
    fn errors_name_file_line_and_field() {
        for (rest, want) in [
            (
                "k = 7",
                "q.toml, line 5, field \"k\": 7 is not a whole number from 0 to 4",
            ),
            (
                "within = 4",
                "q.toml, line 5, field \"within\": 4 moves is not one of 3, 5, 10, 15, 20",
            ),
            (
                "split = [\"all\"]",
                "q.toml, line 5, field \"split\": \"all\" is not one of band, time_class, phase, kind, color, eco",
            ),
            (
                "split = []",
                "q.toml, line 5, field \"split\": name at least one thing to split by",
            ),
        ] {
            assert_eq!(parse(rest).unwrap_err().to_string(), want);
        }
        assert!(
            parse("kinds = [\"knight\"]")
                .unwrap_err()
                .to_string()
                .contains("no such field")
        );
        let none = BandReport::parse("q", "q.toml", "format = 1\ntitle = \"T\"\ntext = \"x\"");
        assert!(none.unwrap_err().to_string().contains("about"));
    }

    #[test]
    fn overrides_go_before_the_file() {
        let given = Overrides {
            k: Some(1),
            within: Some(5),
            developed: Some(YesNo::Yes),
        };
        let got = parse("k = 3").unwrap().with(&given).unwrap();
        assert_eq!((got.k, got.within, got.developed), (1, 5, YesNo::Yes));
        let far = Overrides {
            within: Some(4),
            ..Overrides::default()
        };
        assert!(parse("").unwrap().with(&far).is_err());
    }

    #[test]
    fn schema_says_the_same() {
        let schema: Json =
            serde_json::from_str(include_str!("../../../../schemas/bands.schema.json")).unwrap();
        let fields = schema["properties"].as_object().unwrap();
        let published: BTreeSet<&str> = fields.keys().map(String::as_str).collect();
        let known: BTreeSet<&str> = FIELDS.into_iter().chain(fields::COMMON).collect();
        assert_eq!(published, known);
        assert_eq!(schema["additionalProperties"], Json::Bool(false));
        for (field, about) in fields {
            if let Some(value) = about.get("default") {
                // Every default may be written out, and then says what leaving it out says.
                let written = parse(&format!("{field} = {value}")).unwrap();
                assert_eq!(written, parse("").unwrap(), "{field}");
            }
            let words = about.get("enum").or_else(|| about["items"].get("enum"));
            for word in words.and_then(Json::as_array).into_iter().flatten() {
                let value = match about["type"].as_str() {
                    Some("array") => format!("[{word}]"),
                    _ => word.to_string(),
                };
                assert!(
                    parse(&format!("{field} = {value}")).is_ok(),
                    "{field} = {value}"
                );
            }
            if let Some(high) = about.get("maximum").and_then(Json::as_i64) {
                assert!(parse(&format!("{field} = {high}")).is_ok(), "{field}");
                assert!(
                    parse(&format!("{field} = {}", high + 1)).is_err(),
                    "{field}"
                );
            }
        }
    }
}
