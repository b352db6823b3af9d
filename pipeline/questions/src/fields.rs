//! The fields of a question file, read one by one, each mistake with its line and field.

use std::collections::BTreeSet;

use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

use crate::error::AskError;
use crate::terms::{About, YesNo};

/// Version of the format of question files.
pub const FORMAT: i64 = 1;

/// Fields every question file may hold, whatever it asks.
pub(crate) const COMMON: [&str; 5] = ["format", "about", "title", "text", "$schema"];

/// A parsed file being read field by field.
pub(crate) struct Fields<'a> {
    file: &'a str,
    text: &'a str,
    table: &'a DeTable<'a>,
}

type Value<'a> = Spanned<DeValue<'a>>;

/// Parses the text of a question file and hands its fields to `take`. Fields that are neither
/// among [`COMMON`] nor `own` are refused; `format` must be there.
///
/// # Errors
///
/// The first mistake in the file, with its line and field.
pub(crate) fn read<T>(
    file: &str,
    text: &str,
    own: &[&str],
    take: impl FnOnce(&Fields<'_>) -> Result<T, AskError>,
) -> Result<T, AskError> {
    parsed(file, text, |fields| {
        fields.refuse_unknown(own)?;
        if fields.integer("format", FORMAT, FORMAT)?.is_none() {
            return Err(fields.missing("format", "write `format = 1`"));
        }
        take(fields)
    })
}

/// What a question file says it is about; a comparison where it does not say.
///
/// # Errors
///
/// Where the text is not TOML or the field says none of the words.
pub(crate) fn about(file: &str, text: &str) -> Result<About, AskError> {
    parsed(file, text, |fields| {
        let about = fields.word("about", &About::ALL, About::from_name, About::name)?;
        Ok(about.unwrap_or(About::Comparison))
    })
}

fn parsed<T>(
    file: &str,
    text: &str,
    take: impl FnOnce(&Fields<'_>) -> Result<T, AskError>,
) -> Result<T, AskError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let table = DeTable::parse(text).map_err(|error| AskError::QuestionSyntax {
        file: file.to_owned(),
        line: line_of(text, error.span().map_or(0, |span| span.start)),
        what: error.message().replace('\n', "; "),
    })?;
    take(&Fields {
        file,
        text,
        table: table.get_ref(),
    })
}

fn line_of(text: &str, offset: usize) -> usize {
    let offset = offset.min(text.len());
    1 + text.as_bytes()[..offset]
        .iter()
        .filter(|&&byte| byte == b'\n')
        .count()
}

impl Fields<'_> {
    fn refuse_unknown(&self, own: &[&str]) -> Result<(), AskError> {
        let mut keys: Vec<_> = self.table.keys().collect();
        keys.sort_by_key(|key| key.span().start);
        for key in keys {
            let name: &str = key.get_ref().as_ref();
            if !COMMON.contains(&name) && !own.contains(&name) {
                let known = [&COMMON[..4], own].concat().join(", ");
                let what = format!("there is no such field; the fields are {known}");
                return Err(self.error(key.span().start, name, what));
            }
        }
        Ok(())
    }

    /// Refuses a file that says it is about something else.
    ///
    /// # Errors
    ///
    /// Where `about` is there and says anything but `wanted`.
    pub(crate) fn about(&self, wanted: About) -> Result<(), AskError> {
        match self.word("about", &[wanted], About::from_name, About::name)? {
            Some(about) if about != wanted => {
                Err(self.at("about", format!("\"{about}\" is not {wanted}")))
            }
            _ => Ok(()),
        }
    }

    pub(crate) fn get(&self, field: &str) -> Option<&Value<'_>> {
        self.table.get(field)
    }

    pub(crate) fn error(&self, offset: usize, field: &str, what: String) -> AskError {
        AskError::QuestionField {
            file: self.file.to_owned(),
            line: line_of(self.text, offset),
            field: field.to_owned(),
            what,
        }
    }

    /// An error at the value of a field.
    pub(crate) fn at(&self, field: &str, what: String) -> AskError {
        let offset = self.get(field).map_or(0, |value| value.span().start);
        self.error(offset, field, what)
    }

    pub(crate) fn missing(&self, field: &str, hint: &str) -> AskError {
        self.error(0, field, format!("this field is missing: {hint}"))
    }

    pub(crate) fn wrong_type(&self, field: &str, value: &Value<'_>, want: &str) -> AskError {
        let what = format!(
            "{} where {want} is wanted",
            article(value.get_ref().type_str())
        );
        self.error(value.span().start, field, what)
    }

    pub(crate) fn required_text(&self, field: &str) -> Result<String, AskError> {
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

    pub(crate) fn integer(
        &self,
        field: &str,
        low: i64,
        high: i64,
    ) -> Result<Option<i64>, AskError> {
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

    pub(crate) fn small<N: TryFrom<i64>>(
        &self,
        field: &str,
        default: i64,
        high: i64,
    ) -> Result<N, AskError> {
        let number = self.integer(field, 0, high)?.unwrap_or(default);
        N::try_from(number).map_err(|_| self.at(field, format!("{number} is out of range")))
    }

    pub(crate) fn word<T: Copy>(
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

    pub(crate) fn yes_no(&self, field: &str) -> Result<YesNo, AskError> {
        Ok(self
            .word(field, &YesNo::ALL, YesNo::from_name, YesNo::name)?
            .unwrap_or(YesNo::Any))
    }

    pub(crate) fn list<T: PartialEq>(
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

    pub(crate) fn words<T: Copy + PartialEq>(
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

    pub(crate) fn filter<T: Copy + PartialEq + Ord>(
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

pub(crate) fn sorted<T: Ord>(list: Vec<T>) -> Vec<T> {
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
