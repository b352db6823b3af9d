//! A question, as a small TOML file says it.
//!
//! Fields, their defaults and limits are described in `schemas/question.schema.json`; a test
//! holds the two together.

use std::collections::BTreeSet;
use std::path::Path;

use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

use crate::error::AskError;
pub use crate::terms::YesNo;
use crate::terms::{Key, Kind, MAX_K, Outcome, Phase, RatingDiff, TimeClass, WITHIN};

/// Version of the format of question files.
pub const FORMAT: i64 = 1;

/// Most examples a question may ask for.
pub const MAX_EXAMPLES: usize = 12;

/// The question files that come with the program, by name.
const SHIPPED: [(&str, &str); 2] = [
    (
        "held-piece-lost",
        include_str!("../../../notebooks-free-reports/held-piece-lost.toml"),
    ),
    (
        "held-developed-piece-lost",
        include_str!("../../../notebooks-free-reports/held-developed-piece-lost.toml"),
    ),
];

/// What is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
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
    /// The shipped questions, in the order they are listed to a reader.
    ///
    /// # Errors
    ///
    /// Where a shipped file is wrong, which a test rules out.
    pub fn shipped() -> Result<Vec<Question>, AskError> {
        SHIPPED
            .iter()
            .map(|(name, text)| Question::parse(name, &format!("{name}.toml"), text))
            .collect()
    }

    /// A shipped question by its name, or a question file by its path.
    ///
    /// # Errors
    ///
    /// Where there is no such question or its file is wrong: names file, line and field.
    pub fn load(name_or_path: &str) -> Result<Question, AskError> {
        if let Some((name, text)) = SHIPPED.iter().find(|(name, _)| *name == name_or_path) {
            return Question::parse(name, &format!("{name}.toml"), text);
        }
        let path = Path::new(name_or_path);
        let is_path = path.extension().is_some_and(|ending| ending == "toml")
            || path.components().count() > 1
            || path.is_file();
        if !is_path {
            return Err(AskError::UnknownQuestion {
                name: name_or_path.to_owned(),
                shipped: SHIPPED.map(|(name, _)| name).join(", "),
            });
        }
        let text = std::fs::read_to_string(path).map_err(|source| AskError::QuestionFile {
            file: name_or_path.to_owned(),
            source,
        })?;
        let name = path.file_stem().unwrap_or_default().to_string_lossy();
        Question::parse(&name, name_or_path, &text)
    }

    /// Reads a question from the text of its file; `file` is named in errors.
    ///
    /// # Errors
    ///
    /// The first mistake in the file, with its line and field.
    pub fn parse(name: &str, file: &str, text: &str) -> Result<Question, AskError> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let table = DeTable::parse(text).map_err(|error| AskError::QuestionSyntax {
            file: file.to_owned(),
            line: line_of(text, error.span().map_or(0, |span| span.start)),
            what: error.message().replace('\n', "; "),
        })?;
        Reader {
            file,
            text,
            table: table.get_ref(),
        }
        .question(name)
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

fn line_of(text: &str, offset: usize) -> usize {
    let offset = offset.min(text.len());
    1 + text.as_bytes()[..offset]
        .iter()
        .filter(|&&byte| byte == b'\n')
        .count()
}

/// A parsed file being read field by field.
struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    table: &'a DeTable<'a>,
}

type Value<'a> = Spanned<DeValue<'a>>;

const FIELDS: [&str; 21] = [
    "format",
    "title",
    "text",
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
    "$schema",
];

impl Reader<'_> {
    fn question(&self, name: &str) -> Result<Question, AskError> {
        let mut keys: Vec<_> = self.table.keys().collect();
        keys.sort_by_key(|key| key.span().start);
        for key in keys {
            if !FIELDS.contains(&key.get_ref().as_ref()) {
                let known = FIELDS[..FIELDS.len() - 1].join(", ");
                let what = format!("there is no such field; the fields are {known}");
                return Err(self.error(key.span().start, key.get_ref(), what));
            }
        }
        let format = self.integer("format", FORMAT, FORMAT)?;
        if format.is_none() {
            return Err(self.missing("format", "write `format = 1`"));
        }
        let all_kinds = || Kind::ALL.to_vec();
        let kinds = self.words("kinds", Kind::ALL, Kind::from_word, Kind::word)?;
        if kinds.as_ref().is_some_and(Vec::is_empty) {
            return Err(self.at("kinds", "name at least one kind of piece".to_owned()));
        }
        let within = self.integer("within", 1, 1000)?.map_or(Ok(10), |moves| {
            u32::try_from(moves)
                .ok()
                .filter(|moves| WITHIN.contains(moves))
                .ok_or_else(|| {
                    self.at(
                        "within",
                        format!("{moves} moves is not one of {}", horizons()),
                    )
                })
        })?;
        Ok(Question {
            name: name.to_owned(),
            title: self.required_text("title")?,
            text: self.required_text("text")?,
            kinds: sorted(kinds.unwrap_or_else(all_kinds)),
            k: self.small("k", 2, i64::from(MAX_K))?,
            within,
            outcome: self
                .word("outcome", Outcome::ALL, Outcome::from_word, Outcome::word)?
                .unwrap_or(Outcome::Lost),
            developed: self.yes_no("developed")?,
            attacked: self.yes_no("attacked")?,
            defended: self.yes_no("defended")?,
            phase: self.filter("phase", Phase::ALL, Phase::from_word, Phase::word)?,
            band: self
                .list("band", |text| {
                    (!text.is_empty()).then(|| text.to_owned()).ok_or_else(|| {
                        "a rating band is named by its bounds, as \"1400-1599\"".to_owned()
                    })
                })?
                .unwrap_or_default(),
            time_class: self.filter(
                "time_class",
                TimeClass::ALL,
                TimeClass::from_word,
                TimeClass::word,
            )?,
            rating_diff: self.filter(
                "rating_diff",
                RatingDiff::ALL,
                RatingDiff::from_word,
                RatingDiff::word,
            )?,
            strata: self
                .words("strata", Key::ALL, Key::from_word, Key::word)?
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
            group_by: self
                .words("group_by", Key::ALL, Key::from_word, Key::word)?
                .unwrap_or_else(|| vec![Key::Kind]),
            minimum_turns: self.small("minimum_turns", 20, 1_000_000_000)?,
            minimum_folds: self.small("minimum_folds", 5, 64)?,
            minimum_outcome_folds: self.small("minimum_outcome_folds", 5, 64)?,
            examples: self.small("examples", 3, MAX_EXAMPLES as i64)?,
        })
    }

    fn get(&self, field: &str) -> Option<&Value<'_>> {
        self.table.get(field)
    }

    fn error(&self, offset: usize, field: &str, what: String) -> AskError {
        AskError::QuestionField {
            file: self.file.to_owned(),
            line: line_of(self.text, offset),
            field: field.to_owned(),
            what,
        }
    }

    /// An error at the value of a field.
    fn at(&self, field: &str, what: String) -> AskError {
        let offset = self.get(field).map_or(0, |value| value.span().start);
        self.error(offset, field, what)
    }

    fn missing(&self, field: &str, hint: &str) -> AskError {
        self.error(0, field, format!("this field is missing: {hint}"))
    }

    fn wrong_type(&self, field: &str, value: &Value<'_>, want: &str) -> AskError {
        let what = format!(
            "{} where {want} is wanted",
            article(value.get_ref().type_str())
        );
        self.error(value.span().start, field, what)
    }

    fn required_text(&self, field: &str) -> Result<String, AskError> {
        let Some(value) = self.get(field) else {
            return Err(self.missing(field, &format!("write `{field} = \"…\"`")));
        };
        let text = value
            .get_ref()
            .as_str()
            .ok_or_else(|| self.wrong_type(field, value, "a text in quotes"))?;
        if text.trim().is_empty() {
            return Err(self.at(field, "this text is empty".to_owned()));
        }
        Ok(text.trim().to_owned())
    }

    fn integer(&self, field: &str, low: i64, high: i64) -> Result<Option<i64>, AskError> {
        let Some(value) = self.get(field) else {
            return Ok(None);
        };
        let number = value
            .get_ref()
            .as_integer()
            .ok_or_else(|| self.wrong_type(field, value, "a whole number"))?;
        match i64::from_str_radix(number.as_str(), number.radix()) {
            Ok(number) if (low..=high).contains(&number) => Ok(Some(number)),
            _ if low == high => Err(self.at(field, format!("{} is not {low}", number.as_str()))),
            _ => Err(self.at(
                field,
                format!(
                    "{} is not a whole number from {low} to {high}",
                    number.as_str()
                ),
            )),
        }
    }

    fn small<N: TryFrom<i64>>(&self, field: &str, default: i64, high: i64) -> Result<N, AskError> {
        let number = self.integer(field, 0, high)?.unwrap_or(default);
        N::try_from(number).map_err(|_| self.at(field, format!("{number} is out of range")))
    }

    fn word<T: Copy>(
        &self,
        field: &str,
        all: &[T],
        from_word: fn(&str) -> Option<T>,
        word: fn(T) -> &'static str,
    ) -> Result<Option<T>, AskError> {
        let Some(value) = self.get(field) else {
            return Ok(None);
        };
        let text = value
            .get_ref()
            .as_str()
            .ok_or_else(|| self.wrong_type(field, value, "a word in quotes"))?;
        from_word(text)
            .map(Some)
            .ok_or_else(|| self.at(field, not_one_of(text, all, word)))
    }

    fn yes_no(&self, field: &str) -> Result<YesNo, AskError> {
        Ok(self
            .word(field, YesNo::ALL, YesNo::from_word, YesNo::word)?
            .unwrap_or(YesNo::Any))
    }

    fn list<T: PartialEq>(
        &self,
        field: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<Option<Vec<T>>, AskError> {
        let Some(value) = self.get(field) else {
            return Ok(None);
        };
        let list: &DeArray<'_> = value
            .get_ref()
            .as_array()
            .ok_or_else(|| self.wrong_type(field, value, "a list, as [\"…\", \"…\"],"))?;
        let mut out = Vec::new();
        for item in list.iter() {
            let text = item
                .get_ref()
                .as_str()
                .ok_or_else(|| self.wrong_type(field, item, "a word in quotes"))?;
            let value = read(text).map_err(|what| self.error(item.span().start, field, what))?;
            if out.contains(&value) {
                let what = format!("\"{text}\" stands here twice");
                return Err(self.error(item.span().start, field, what));
            }
            out.push(value);
        }
        Ok(Some(out))
    }

    fn words<T: Copy + PartialEq>(
        &self,
        field: &str,
        all: &[T],
        from_word: fn(&str) -> Option<T>,
        word: fn(T) -> &'static str,
    ) -> Result<Option<Vec<T>>, AskError> {
        self.list(field, |text| {
            from_word(text).ok_or_else(|| not_one_of(text, all, word))
        })
    }

    fn filter<T: Copy + PartialEq + Ord>(
        &self,
        field: &str,
        all: &[T],
        from_word: fn(&str) -> Option<T>,
        word: fn(T) -> &'static str,
    ) -> Result<Vec<String>, AskError> {
        let chosen = sorted(self.words(field, all, from_word, word)?.unwrap_or_default());
        Ok(chosen
            .into_iter()
            .map(|member| word(member).to_owned())
            .collect())
    }
}

fn sorted<T: Ord>(list: Vec<T>) -> Vec<T> {
    list.into_iter()
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect()
}

fn not_one_of<T: Copy>(text: &str, all: &[T], word: fn(T) -> &'static str) -> String {
    let words: Vec<_> = all.iter().map(|&member| word(member)).collect();
    format!("\"{text}\" is not one of {}", words.join(", "))
}

fn article(noun: &str) -> String {
    let an = noun.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {noun}", if an { "an" } else { "a" })
}

#[cfg(test)]
mod tests {
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
    fn shipped_questions_parse_and_load_by_name() {
        let shipped = Question::shipped().unwrap();
        assert_eq!(shipped.len(), SHIPPED.len());
        for question in &shipped {
            assert_eq!(&Question::load(&question.name).unwrap(), question);
            assert_eq!((question.k, question.within), (2, 10));
        }
        assert_eq!(shipped[0].developed, YesNo::Any);
        assert_eq!(shipped[1].developed, YesNo::Yes);
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
        assert_eq!(
            got,
            "no question \"held\": ask one of held-piece-lost, held-developed-piece-lost, or name a question file"
        );
        let got = Question::load("no/such/file.toml").unwrap_err().to_string();
        assert!(got.starts_with("question file no/such/file.toml cannot be read: "));
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
        assert_eq!(published, BTreeSet::from(FIELDS));
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
