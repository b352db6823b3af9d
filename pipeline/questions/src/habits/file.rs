//! What is asked of a player, as a small TOML file says it.
//!
//! Fields, their defaults and limits are described in `schemas/player.schema.json`; a test
//! holds the two together.

use crate::error::AskError;
use crate::fields;
use crate::question::Overrides;
use crate::terms::{About, MAX_K, WITHIN};

const FIELDS: [&str; 7] = [
    "k",
    "within",
    "long",
    "minimum_games",
    "minimum_event_games",
    "replies_turns",
    "games",
];

/// Most games to look at that may be asked for.
pub const MAX_GAMES: i64 = 20;

/// A question about one player.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Habits {
    /// Name it is asked by: the file's name without `.toml`.
    pub name: String,
    /// Title for readers.
    pub title: String,
    /// Text for readers; paragraphs parted by an empty line.
    pub text: String,
    /// A piece is held where it has this many safe squares or fewer.
    pub k: u8,
    /// Moves within which a held piece is lost for it to count.
    pub within: u32,
    /// Turns from which a piece counts as left held for long.
    pub long: u32,
    /// Least games of the player for an interval to be given.
    pub minimum_games: u64,
    /// Least games in which the counted thing happened for an interval to be given.
    pub minimum_event_games: u64,
    /// Most turns whose replies are played out.
    pub replies_turns: usize,
    /// Number of games to look at.
    pub games: usize,
}

impl Habits {
    /// Reads a question from the text of its file; `file` is named in errors.
    ///
    /// # Errors
    ///
    /// The first mistake in the file, with its line and field.
    pub fn parse(name: &str, file: &str, text: &str) -> Result<Habits, AskError> {
        fields::read(file, text, &FIELDS, |fields| {
            fields.about(About::Player)?;
            let within = fields.integer("within", 1, 1000)?.unwrap_or(10);
            let within = u32::try_from(within)
                .ok()
                .filter(|moves| WITHIN.contains(moves))
                .ok_or_else(|| {
                    let all = WITHIN.map(|moves| moves.to_string()).join(", ");
                    fields.at("within", format!("{within} moves is not one of {all}"))
                })?;
            let long = fields.integer("long", 2, 100)?.unwrap_or(3);
            Ok(Habits {
                name: name.to_owned(),
                title: fields.required_text("title")?,
                text: fields.required_text("text")?,
                k: fields.small("k", 2, i64::from(MAX_K))?,
                within,
                long: u32::try_from(long).unwrap_or(u32::MAX),
                minimum_games: fields.small("minimum_games", 20, 1_000_000)?,
                minimum_event_games: fields.small("minimum_event_games", 5, 1_000_000)?,
                replies_turns: fields.small("replies_turns", 400, 100_000)?,
                games: fields.small("games", 10, MAX_GAMES)?,
            })
        })
    }

    /// The question with what is given beside it.
    ///
    /// # Errors
    ///
    /// Where a value is out of range, or has no meaning here.
    pub fn with(&self, overrides: &Overrides) -> Result<Habits, AskError> {
        let wrong = |name, what: String| Err(AskError::Override { name, what });
        let mut habits = self.clone();
        if let Some(k) = overrides.k {
            if k > MAX_K {
                return wrong("k", format!("{k} is not a whole number from 0 to {MAX_K}"));
            }
            habits.k = k;
        }
        if let Some(within) = overrides.within {
            if !WITHIN.contains(&within) {
                let all = WITHIN.map(|moves| moves.to_string()).join(", ");
                return wrong("within", format!("{within} moves is not one of {all}"));
            }
            habits.within = within;
        }
        if overrides.developed.is_some() {
            let what = "a player's habits are told of developed pieces, and undeveloped ones apart";
            return wrong("developed", what.to_owned());
        }
        Ok(habits)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(rest: &str) -> Result<Habits, AskError> {
        let text = format!("format = 1\nabout = \"player\"\ntitle = \"T\"\ntext = \"x\"\n{rest}");
        Habits::parse("q", "q.toml", &text)
    }

    #[test]
    fn shipped_file_says_the_defaults() {
        let text = include_str!("../../../../notebooks-free-reports/own-habits.toml");
        let shipped = Habits::parse("q", "q.toml", text).unwrap();
        let default = parse("").unwrap();
        assert_eq!(
            Habits {
                title: "T".into(),
                text: "x".into(),
                ..shipped
            },
            default
        );
    }

    #[test]
    fn errors_name_line_and_field() {
        for (rest, want) in [
            (
                "k = 9",
                "q.toml, line 5, field \"k\": 9 is not a whole number from 0 to 4",
            ),
            (
                "within = 4",
                "q.toml, line 5, field \"within\": 4 moves is not one of 3, 5, 10, 15, 20",
            ),
            (
                "long = 1",
                "q.toml, line 5, field \"long\": 1 is not a whole number from 2 to 100",
            ),
        ] {
            assert_eq!(parse(rest).unwrap_err().to_string(), want);
        }
        let unknown = parse("strata = []").unwrap_err().to_string();
        assert!(
            unknown.starts_with("q.toml, line 5, field \"strata\": there is no such field"),
            "{unknown}"
        );
    }

    /// The schema names the same fields with the same defaults and limits.
    #[test]
    fn schema_agrees() {
        let schema: serde_json::Value =
            serde_json::from_str(include_str!("../../../../schemas/player.schema.json")).unwrap();
        let properties = schema["properties"].as_object().unwrap();
        let mut names: Vec<&str> = properties.keys().map(String::as_str).collect();
        let mut ours: Vec<&str> = FIELDS.iter().chain(&fields::COMMON).copied().collect();
        names.sort_unstable();
        ours.sort_unstable();
        assert_eq!(names, ours);
        let default = parse("").unwrap();
        for (field, value) in [
            ("k", u64::from(default.k)),
            ("within", u64::from(default.within)),
            ("long", u64::from(default.long)),
            ("minimum_games", default.minimum_games),
            ("minimum_event_games", default.minimum_event_games),
            ("replies_turns", default.replies_turns as u64),
            ("games", default.games as u64),
        ] {
            assert_eq!(properties[field]["default"], value, "{field}");
            if let Some(maximum) = properties[field]["maximum"].as_i64() {
                assert!(parse(&format!("{field} = {maximum}")).is_ok(), "{field}");
                assert!(
                    parse(&format!("{field} = {}", maximum + 1)).is_err(),
                    "{field}"
                );
            }
        }
    }
}
