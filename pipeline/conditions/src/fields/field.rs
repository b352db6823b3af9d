//! What a field of question files is.

use toml::de::ValueDeserializer;

use super::shape::Shape;
use crate::asked_rows::{AskedRows, Narrows};
use crate::error::AskError;
use crate::filter::Condition;
use crate::given::Overrides;

/// A field of question files.
pub trait Field {
    /// What is read from the file.
    type Value;

    /// Name in the file.
    const NAME: &'static str;

    /// What it means, for the schema.
    const TEXT: &'static str;

    /// The side of a comparison it narrows. Rows of the other side are not asked.
    const NARROWS: Narrows = Narrows::BothSides;

    /// The values it takes.
    fn shape() -> impl Shape<Value = Self::Value>;

    /// Its value where the file does not name it.
    fn default() -> Self::Value;

    /// What is given beside the question and goes before its file, as TOML writes it.
    fn given(_overrides: &Overrides) -> Option<String> {
        None
    }

    /// What a value asks of rows.
    fn condition(_value: &Self::Value, _rows: AskedRows) -> Condition<'_> {
        Condition::Always
    }

    /// What of a value no row can have where rating bands are this wide, and what rows have instead.
    fn absent(_value: &Self::Value, _band_width: u16) -> Option<String> {
        None
    }

    /// A value in words; `None` where it narrows nothing, or is said elsewhere.
    fn said(_value: &Self::Value) -> Option<Said> {
        None
    }

    /// What a value adds behind the kinds of piece in a sentence, as `on the rim`; `None` where
    /// it adds nothing.
    fn after_kind(_value: &Self::Value) -> Option<String> {
        None
    }
}

/// Puts what is given beside a question in the place of what its file says.
///
/// # Errors
///
/// Where the field does not take the value.
pub fn put<F: Field>(value: &mut F::Value, overrides: &Overrides) -> Result<(), AskError> {
    let Some(given) = F::given(overrides) else {
        return Ok(());
    };
    let read = ValueDeserializer::parse(&given).and_then(|given| F::shape().read(given));
    *value = read.map_err(|error| AskError::Override {
        name: F::NAME,
        what: error.message().to_owned(),
    })?;
    Ok(())
}

/// A filter in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// What is narrowed, as `Phase`.
    pub name: &'static str,
    /// To what, as `middlegame or endgame`.
    pub words: String,
}

/// Whether two texts are the same, where a constant must know.
pub const fn same_text(a: &str, b: &str) -> bool {
    let (a, b) = (a.as_bytes(), b.as_bytes());
    let mut at = 0;
    while at < a.len() && at < b.len() && a[at] == b[at] {
        at += 1;
    }
    at == a.len() && at == b.len()
}
