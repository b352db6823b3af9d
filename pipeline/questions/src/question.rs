//! A question, as a small TOML file says it.
//!
//! Fields, their defaults and limits are described in `schemas/question.schema.json`; a test
//! holds the two together.

use serde::Serialize;

use crate::error::AskError;
pub use crate::fields::FORMAT;
use crate::fields::{self, Fields, sorted};
use crate::shipped::Source;
pub use crate::terms::YesNo;
use crate::terms::{About, Key, Kind, MAX_K, Outcome, Phase, RatingDiff, TimeClass, WITHIN};

/// Most examples a question may ask for.
pub const MAX_EXAMPLES: usize = 12;

/// What is asked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Question {
    /// Name it is asked by: the file's name without `.toml`.
    pub name: String,
    /// Title for readers.
    pub title: String,
    /// Text for readers; paragraphs parted by an empty line.
    pub text: String,
    /// Kinds of piece looked at.
    pub kinds: Vec<Kind>,
    /// A piece is held where it has this many safe squares or fewer.
    pub k: u8,
    /// Horizon in moves.
    pub within: u32,
    /// What is counted.
    pub outcome: Outcome,
    /// Only pieces that have moved, or only such that have not.
    pub developed: YesNo,
    /// Only pieces that are attacked, or only such that are not.
    pub attacked: YesNo,
    /// Only pieces that are defended, or only such that are not.
    pub defended: YesNo,
    /// Phases looked at; empty for all.
    pub phase: Vec<String>,
    /// Rating bands looked at; empty for all.
    pub band: Vec<String>,
    /// Time classes looked at; empty for all.
    pub time_class: Vec<String>,
    /// Rating differences looked at; empty for all.
    pub rating_diff: Vec<String>,
    /// Keys whose combinations are the strata of the comparison.
    pub strata: Vec<Key>,
    /// Keys whose combinations are the rows.
    pub group_by: Vec<Key>,
    /// Least turns on a side for its intervals to be given.
    pub minimum_turns: u64,
    /// Least folds with turns on a side for its intervals to be given.
    pub minimum_folds: u32,
    /// Least folds with a counted outcome on a side for jackknife intervals to be given.
    pub minimum_outcome_folds: u32,
    /// Number of example games.
    pub examples: usize,
}

/// What is given beside the question and goes before what it says.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Overrides {
    /// Safe squares, from 0 to 4.
    pub k: Option<u8>,
    /// Horizon in moves: 3, 5, 10, 15 or 20.
    pub within: Option<u32>,
    /// Whether pieces must have moved.
    pub developed: Option<YesNo>,
}

impl Question {
    /// A shipped question by its name, or a question file by its path.
    ///
    /// # Errors
    ///
    /// Where there is no such question or its file is wrong: names file, line and field.
    pub fn load(name_or_path: &str) -> Result<Question, AskError> {
        let source = Source::find(name_or_path)?;
        Question::parse(&source.name, &source.file, &source.text)
    }

    /// Reads a question from the text of its file; `file` is named in errors.
    ///
    /// # Errors
    ///
    /// The first mistake in the file, with its line and field.
    pub fn parse(name: &str, file: &str, text: &str) -> Result<Question, AskError> {
        fields::read(file, text, &FIELDS, |fields| question(fields, name))
    }

    /// The question with what is given beside it.
    ///
    /// # Errors
    ///
    /// Where a value is out of range.
    pub fn with(&self, overrides: &Overrides) -> Result<Question, AskError> {
        let mut question = self.clone();
        if let Some(k) = overrides.k {
            if k > MAX_K {
                return Err(AskError::Override {
                    name: "k",
                    what: format!("{k} is not a whole number from 0 to {MAX_K}"),
                });
            }
            question.k = k;
        }
        if let Some(within) = overrides.within {
            if !WITHIN.contains(&within) {
                return Err(AskError::Override {
                    name: "within",
                    what: format!("{within} moves is not one of {}", horizons()),
                });
            }
            question.within = within;
        }
        if let Some(developed) = overrides.developed {
            question.developed = developed;
        }
        Ok(question)
    }
}

fn horizons() -> String {
    WITHIN.map(|moves| moves.to_string()).join(", ")
}

/// Fields beside those that every question file may hold.
const FIELDS: [&str; 17] = [
    "kinds",
    "k",
    "within",
    "outcome",
    "developed",
    "attacked",
    "defended",
    "phase",
    "band",
    "time_class",
    "rating_diff",
    "strata",
    "group_by",
    "minimum_turns",
    "minimum_folds",
    "minimum_outcome_folds",
    "examples",
];

fn question(fields: &Fields<'_>, name: &str) -> Result<Question, AskError> {
    fields.about(About::Comparison)?;
    let all_kinds = || Kind::ALL.to_vec();
    let kinds = fields.words("kinds", &Kind::ALL, Kind::from_name, Kind::name)?;
    if kinds.as_ref().is_some_and(Vec::is_empty) {
        return Err(fields.at("kinds", "name at least one kind of piece".to_owned()));
    }
    let within = fields.integer("within", 1, 1000)?.map_or(Ok(10), |moves| {
        u32::try_from(moves)
            .ok()
            .filter(|moves| WITHIN.contains(moves))
            .ok_or_else(|| {
                fields.at(
                    "within",
                    format!("{moves} moves is not one of {}", horizons()),
                )
            })
    })?;
    Ok(Question {
        name: name.to_owned(),
        title: fields.required_text("title")?,
        text: fields.required_text("text")?,
        kinds: sorted(kinds.unwrap_or_else(all_kinds)),
        k: fields.small("k", 2, i64::from(MAX_K))?,
        within,
        outcome: fields
            .word("outcome", &Outcome::ALL, Outcome::from_name, Outcome::name)?
            .unwrap_or(Outcome::Lost),
        developed: fields.yes_no("developed")?,
        attacked: fields.yes_no("attacked")?,
        defended: fields.yes_no("defended")?,
        phase: fields.filter("phase", &Phase::ALL, Phase::from_name, Phase::name)?,
        band: fields
            .list("band", |text| {
                (!text.is_empty()).then(|| text.to_owned()).ok_or_else(|| {
                    "a rating band is named by its bounds, as \"1400-1599\"".to_owned()
                })
            })?
            .unwrap_or_default(),
        time_class: fields.filter(
            "time_class",
            &TimeClass::ALL,
            TimeClass::from_name,
            TimeClass::name,
        )?,
        rating_diff: fields.filter(
            "rating_diff",
            &RatingDiff::ALL,
            RatingDiff::from_name,
            RatingDiff::name,
        )?,
        strata: fields
            .words("strata", &Key::ALL, Key::from_name, Key::name)?
            .unwrap_or_else(|| {
                vec![
                    Key::Kind,
                    Key::Phase,
                    Key::Band,
                    Key::TimeClass,
                    Key::Attacked,
                    Key::Defended,
                ]
            }),
        group_by: fields
            .words("group_by", &Key::ALL, Key::from_name, Key::name)?
            .unwrap_or_else(|| vec![Key::Kind]),
        minimum_turns: fields.small("minimum_turns", 20, 1_000_000_000)?,
        minimum_folds: fields.small("minimum_folds", 5, 64)?,
        minimum_outcome_folds: fields.small("minimum_outcome_folds", 5, 64)?,
        examples: fields.small("examples", 3, MAX_EXAMPLES as i64)?,
    })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use serde_json::Value as Json;

    fn parse(rest: &str) -> Result<Question, AskError> {
        let text = format!("format = 1\ntitle = \"T\"\ntext = \"x\"\n{rest}");
        Question::parse("q", "q.toml", &text)
    }

    fn fails(rest: &str, want: &str) {
        let got = parse(rest).unwrap_err().to_string();
        assert_eq!(got, want);
    }

    #[test]
    fn shipped_questions_load_by_name() {
        for (name, developed) in [
            ("held-piece-lost", YesNo::Any),
            ("held-developed-piece-lost", YesNo::Yes),
        ] {
            let question = Question::load(name).unwrap();
            assert_eq!((question.k, question.within), (2, 10));
            assert_eq!(
                (question.name.as_str(), question.developed),
                (name, developed)
            );
        }
    }

    #[test]
    fn defaults() {
        let question = parse("").unwrap();
        assert_eq!(question.kinds, Kind::ALL);
        assert_eq!((question.k, question.within), (2, 10));
        assert_eq!(question.outcome, Outcome::Lost);
        assert_eq!(question.group_by, [Key::Kind]);
        assert_eq!((question.minimum_turns, question.minimum_folds), (20, 5));
    }

    #[test]
    fn errors_name_file_line_and_field() {
        fails(
            "\nk = 7",
            "q.toml, line 5, field \"k\": 7 is not a whole number from 0 to 4",
        );
        fails(
            "k = -1",
            "q.toml, line 4, field \"k\": -1 is not a whole number from 0 to 4",
        );
        fails(
            "k = \"2\"",
            "q.toml, line 4, field \"k\": a string where a whole number is wanted",
        );
        fails(
            "within = 7",
            "q.toml, line 4, field \"within\": 7 moves is not one of 3, 5, 10, 15, 20",
        );
        fails(
            "kinds = [\n  \"knight\",\n  \"pawn\"]",
            "q.toml, line 6, field \"kinds\": \"pawn\" is not one of knight, bishop, rook, queen",
        );
        fails(
            "kinds = []",
            "q.toml, line 4, field \"kinds\": name at least one kind of piece",
        );
        fails(
            "group_by = [\"phase\", \"phase\"]",
            "q.toml, line 4, field \"group_by\": \"phase\" stands here twice",
        );
        fails(
            "developed = true",
            "q.toml, line 4, field \"developed\": a boolean where a word in quotes is wanted",
        );
        fails(
            "phase = \"opening\"",
            "q.toml, line 4, field \"phase\": a string where a list, as [\"…\", \"…\"], is wanted",
        );
        let unknown = parse("knights = 3").unwrap_err().to_string();
        assert!(unknown.starts_with(
            "q.toml, line 4, field \"knights\": there is no such field; the fields are format,"
        ));
        let syntax = parse("k = = 2").unwrap_err().to_string();
        assert!(syntax.starts_with("q.toml, line 4: "), "{syntax}");
        assert!(!syntax.contains('\n'));
        let missing = Question::parse("q", "q.toml", "title = \"T\"")
            .unwrap_err()
            .to_string();
        assert_eq!(
            missing,
            "q.toml, line 1, field \"format\": this field is missing: write `format = 1`"
        );
        let format = Question::parse("q", "q.toml", "format = 2")
            .unwrap_err()
            .to_string();
        assert_eq!(format, "q.toml, line 1, field \"format\": 2 is not 1");
    }

    #[test]
    fn unknown_names_list_what_can_be_asked() {
        let got = Question::load("held").unwrap_err().to_string();
        let first = "no question \"held\": ask one of held-piece-lost, held-developed-piece-lost, ";
        assert!(got.starts_with(first), "{got}");
        assert!(got.ends_with(", or name a question file"), "{got}");
        let got = Question::load("no/such/file.toml").unwrap_err().to_string();
        assert_eq!(got, "question file no/such/file.toml cannot be read");
    }

    #[test]
    fn a_file_is_named_by_its_stem() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("rooks.toml");
        std::fs::write(
            &path,
            "\u{feff}format = 1\r\ntitle = \"T\"\r\ntext = \"x\"\r\nkinds = [\"rook\"]\r\n",
        )
        .unwrap();
        let question = Question::load(path.to_str().unwrap()).unwrap();
        assert_eq!(question.name, "rooks");
        assert_eq!(question.kinds, [Kind::Rook]);
    }

    #[test]
    fn overrides_go_before_the_file_and_keep_its_limits() {
        let question = parse("k = 1").unwrap();
        let given = Overrides {
            k: Some(3),
            within: Some(5),
            developed: Some(YesNo::No),
        };
        let got = question.with(&given).unwrap();
        assert_eq!((got.k, got.within, got.developed), (3, 5, YesNo::No));
        assert_eq!(question.with(&Overrides::default()).unwrap(), question);
        let bad = Overrides {
            k: Some(5),
            ..Overrides::default()
        };
        assert_eq!(
            question.with(&bad).unwrap_err().to_string(),
            "k: 5 is not a whole number from 0 to 4"
        );
        let bad = Overrides {
            within: Some(4),
            ..Overrides::default()
        };
        assert_eq!(
            question.with(&bad).unwrap_err().to_string(),
            "within: 4 moves is not one of 3, 5, 10, 15, 20"
        );
    }

    /// The published schema and this reader know the same fields, words, limits and defaults.
    #[test]
    fn schema_says_the_same() {
        let schema: Json =
            serde_json::from_str(include_str!("../../../schemas/question.schema.json")).unwrap();
        let fields = schema["properties"].as_object().unwrap();
        let published: BTreeSet<&str> = fields.keys().map(String::as_str).collect();
        assert_eq!(
            published,
            fields::COMMON.into_iter().chain(FIELDS).collect()
        );
        assert_eq!(schema["additionalProperties"], Json::Bool(false));
        for (field, about) in fields {
            let value = about.get("default").map(|default| default.to_string());
            if let Some(value) = value {
                // Every default may be written out, and then says what leaving it out says.
                assert_eq!(
                    parse(&format!("{field} = {value}")).unwrap(),
                    parse("").unwrap(),
                    "{field}"
                );
            }
            let words = about.get("enum").or_else(|| about["items"].get("enum"));
            for word in words.and_then(Json::as_array).into_iter().flatten() {
                let value = if about["type"] == "array" {
                    format!("[{word}]")
                } else {
                    word.to_string()
                };
                assert!(
                    parse(&format!("{field} = {value}")).is_ok(),
                    "{field} = {value}"
                );
            }
            if let Some(high) = about.get("maximum").and_then(Json::as_i64) {
                assert!(parse(&format!("{field} = {high}")).is_ok(), "{field}");
                let over = high + 1;
                assert!(parse(&format!("{field} = {over}")).is_err(), "{field}");
            }
        }
    }
}
