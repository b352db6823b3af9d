//! Reads a question file field by field, through serde; a mistake has its line and field.

use std::collections::BTreeMap;

use toml::Spanned;
use toml::de::{DeTable, DeValue, ValueDeserializer};

use super::shape::{Shape, Text, number};
use super::{FORMAT, Field, QuestionFile, UNSAID};
use crate::error::AskError;

/// Fields that every question file may hold.
pub(super) const COMMON: [&str; 5] = ["format", "about", "title", "text", "$schema"];

/// A question file being read. Mistakes are collected, and the first in the file is reported.
pub struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    values: BTreeMap<String, Spanned<DeValue<'a>>>,
    mistakes: Vec<Mistake>,
}

struct Mistake {
    /// Place in the text, in bytes; `None` for what is missing, which is reported last.
    at: Option<usize>,
    field: String,
    what: String,
}

impl<'a> Reader<'a> {
    /// Parses the text of a file, and reads what every file of its sort says: format and sort.
    ///
    /// # Errors
    ///
    /// Where the text is not TOML.
    pub fn open<Q: QuestionFile>(file: &'a str, text: &'a str) -> Result<Reader<'a>, AskError> {
        let mut reader = Reader::parse(file, text, |name| {
            COMMON.contains(&name) || Q::FIELDS.contains(&name)
        })?;
        if !reader.mistakes.is_empty() {
            let known = [&COMMON[..4], Q::FIELDS].concat().join(", ");
            for mistake in &mut reader.mistakes {
                mistake.what = format!("there is no such field; the fields are {known}");
            }
        }
        if reader
            .read("format", &number::<i64>(FORMAT..=FORMAT))
            .is_none()
        {
            reader.missing("format", &format!("write `format = {FORMAT}`"));
        }
        if reader.read("about", &OneOf(&[Q::ABOUT])).is_none() && Q::ABOUT != UNSAID {
            reader.missing("about", &format!("write `about = \"{}\"`", Q::ABOUT));
        }
        Ok(reader)
    }

    /// Parses the text of a file; a field that is not `known` is a mistake.
    fn parse(
        file: &'a str,
        text: &'a str,
        known: impl Fn(&str) -> bool,
    ) -> Result<Reader<'a>, AskError> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let table = DeTable::parse(text).map_err(|error| AskError::QuestionSyntax {
            file: file.to_owned(),
            line: line_of(text, error.span().map_or(0, |span| span.start)),
            what: error.message().replace('\n', "; "),
        })?;
        let mut reader = Reader {
            file,
            text,
            values: BTreeMap::new(),
            mistakes: Vec::new(),
        };
        for (key, value) in table.into_inner() {
            let at = key.span().start;
            let name = key.into_inner().into_owned();
            if known(&name) {
                reader.values.insert(name, value);
            } else {
                reader.mistake(at, &name, String::new());
            }
        }
        Ok(reader)
    }

    /// The value of a field, or its default.
    pub fn take<F: Field>(&mut self) -> F::Value {
        self.read(F::NAME, &F::shape()).unwrap_or_else(F::default)
    }

    /// A text that must be there.
    pub fn required_text(&mut self, field: &'static str) -> String {
        if !self.values.contains_key(field) {
            self.missing(field, &format!("write `{field} = \"…\"`"));
        }
        self.read(field, &RequiredText).unwrap_or_default()
    }

    /// The value of a field; `None` where the file does not name it, or it is wrong.
    fn read<S: Shape>(&mut self, field: &str, shape: &S) -> Option<S::Value> {
        let value = self.values.get(field)?.clone();
        let at = value.span().start;
        match shape.read(ValueDeserializer::from(value)) {
            Ok(value) => Some(value),
            Err(error) => {
                let at = error.span().map_or(at, |span| span.start);
                self.mistake(at, field, error.message().replace('\n', "; "));
                None
            }
        }
    }

    fn mistake(&mut self, at: usize, field: &str, what: String) {
        self.mistakes.push(Mistake {
            at: Some(at),
            field: field.to_owned(),
            what,
        });
    }

    fn missing(&mut self, field: &str, advice: &str) {
        if !self.values.contains_key(field) {
            self.mistakes.push(Mistake {
                at: None,
                field: field.to_owned(),
                what: format!("this field is missing: {advice}"),
            });
        }
    }

    /// Ends the reading.
    ///
    /// # Errors
    ///
    /// The first mistake in the file.
    pub fn finish(self) -> Result<(), AskError> {
        let first = self
            .mistakes
            .into_iter()
            .min_by_key(|mistake| mistake.at.unwrap_or(usize::MAX));
        first.map_or(Ok(()), |Mistake { at, field, what }| {
            Err(AskError::QuestionField {
                file: self.file.to_owned(),
                line: line_of(self.text, at.unwrap_or(0)),
                field,
                what,
            })
        })
    }
}

/// Which of these words a question file says it is about; [`UNSAID`] where it does not say.
///
/// # Errors
///
/// Where the text is not TOML or the field says none of the words.
pub fn about(file: &str, text: &str, words: &[&str]) -> Result<usize, AskError> {
    let mut reader = Reader::parse(file, text, |_| true)?;
    let about = reader.read("about", &OneOf(words));
    reader.finish()?;
    let unsaid = words.iter().position(|word| *word == UNSAID);
    Ok(about.or(unsaid).unwrap_or(0))
}

/// The place of a text among these.
struct OneOf<'a>(&'a [&'a str]);

impl Shape for OneOf<'_> {
    type Value = usize;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<usize, toml::de::Error> {
        use serde::Deserializer as _;
        value.deserialize_any(Text(|text: &str| {
            let place = self.0.iter().position(|word| *word == text);
            place.ok_or_else(|| format!("\"{text}\" is not one of {}", self.0.join(", ")))
        }))
    }

    fn schema(&self) -> serde_json::Map<String, serde_json::Value> {
        serde_json::Map::from_iter([("enum".to_owned(), self.0.into())])
    }
}

/// A text that is not empty.
struct RequiredText;

impl Shape for RequiredText {
    type Value = String;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<String, toml::de::Error> {
        use serde::Deserializer as _;
        value.deserialize_any(Text(|text: &str| match text.trim() {
            "" => Err("this text is empty".to_owned()),
            text => Ok(text.to_owned()),
        }))
    }

    fn schema(&self) -> serde_json::Map<String, serde_json::Value> {
        super::schema::not_empty_text()
    }
}

fn line_of(text: &str, offset: usize) -> usize {
    let before = &text.as_bytes()[..offset.min(text.len())];
    1 + before.iter().filter(|&&byte| byte == b'\n').count()
}
