//! The values a field can take: how serde reads them and what the JSON schema says of them.

use std::fmt;
use std::marker::PhantomData;
use std::ops::RangeInclusive;

use hobble_terms::Word;
use serde::de::{DeserializeSeed, Deserializer, Error as _, SeqAccess, Visitor};
use serde_json::{Map, Value as Json, json};
use toml::de::{Error, ValueDeserializer};

use crate::terms::WITHIN;

/// The values a field can take.
pub trait Shape {
    /// What is read.
    type Value;

    /// Reads a value.
    ///
    /// # Errors
    ///
    /// Where the value has another type or is out of range; the error has its place.
    fn read(&self, value: ValueDeserializer<'_>) -> Result<Self::Value, Error>;

    /// What the JSON schema says of the values: type, limits, words.
    fn schema(&self) -> Map<String, Json>;
}

/// A whole number within limits.
pub struct Number<N> {
    limits: RangeInclusive<i64>,
    as_number: PhantomData<N>,
}

/// A whole number within limits.
pub fn number<N>(limits: RangeInclusive<i64>) -> Number<N> {
    Number {
        limits,
        as_number: PhantomData,
    }
}

impl<N: TryFrom<i64>> Shape for Number<N> {
    type Value = N;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<N, Error> {
        let (low, high) = (self.limits.start(), self.limits.end());
        value.deserialize_any(Integer(|number| {
            let within = self.limits.contains(&number).then_some(number);
            match within.and_then(|number| N::try_from(number).ok()) {
                Some(number) => Ok(number),
                None if low == high => Err(format!("{number} is not {low}")),
                None => Err(format!(
                    "{number} is not a whole number from {low} to {high}"
                )),
            }
        }))
    }

    fn schema(&self) -> Map<String, Json> {
        let (low, high) = (self.limits.start(), self.limits.end());
        object(json!({"type": "integer", "minimum": low, "maximum": high}))
    }
}

/// A multiple of a step, up to a limit.
pub struct Steps {
    step: u16,
    most: u16,
}

/// A multiple of `step` from one step to `most`.
pub fn steps(step: u16, most: u16) -> Steps {
    Steps { step, most }
}

impl Shape for Steps {
    type Value = u16;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<u16, Error> {
        let (step, most) = (self.step, self.most);
        value.deserialize_any(Integer(|number: i64| {
            let within = u16::try_from(number).ok();
            let within = within.filter(|n| (step..=most).contains(n) && n.is_multiple_of(step));
            within.ok_or_else(|| {
                format!("{number} is not a multiple of {step} from {step} to {most}")
            })
        }))
    }

    fn schema(&self) -> Map<String, Json> {
        let (step, most) = (self.step, self.most);
        object(json!({"type": "integer", "minimum": step, "maximum": most, "multipleOf": step}))
    }
}

/// A horizon in moves: one of [`WITHIN`].
pub struct Horizon;

impl Horizon {
    /// The horizon of so many moves.
    ///
    /// # Errors
    ///
    /// What is wrong with the number.
    pub fn of(moves: i64) -> Result<u32, String> {
        let known = WITHIN.into_iter().find(|known| i64::from(*known) == moves);
        known.ok_or_else(|| {
            let known = WITHIN.map(|moves| moves.to_string()).join(", ");
            format!("{moves} moves is not one of {known}")
        })
    }
}

impl Shape for Horizon {
    type Value = u32;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<u32, Error> {
        value.deserialize_any(Integer(Horizon::of))
    }

    fn schema(&self) -> Map<String, Json> {
        object(json!({"type": "integer", "enum": WITHIN}))
    }
}

/// The shape of a value that may be absent.
pub struct Optional<S>(pub S);

impl<S: Shape> Shape for Optional<S> {
    type Value = Option<S::Value>;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<Self::Value, Error> {
        self.0.read(value).map(Some)
    }

    fn schema(&self) -> Map<String, Json> {
        self.0.schema()
    }
}

/// One word of a list.
pub struct OneWord<T: 'static> {
    words: &'static [T],
}

/// One word of an enum.
pub fn word<T: Word>() -> OneWord<T> {
    one_of(T::WORDS)
}

/// One of these words.
pub fn one_of<T: Word>(words: &'static [T]) -> OneWord<T> {
    OneWord { words }
}

impl<T: Word> OneWord<T> {
    fn find(&self, text: &str) -> Result<T, String> {
        let found = self.words.iter().find(|word| word.word() == text);
        found.copied().ok_or_else(|| {
            let words = spellings(self.words).join(", ");
            format!("\"{text}\" is not one of {words}")
        })
    }
}

impl<T: Word> Shape for OneWord<T> {
    type Value = T;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<T, Error> {
        value.deserialize_any(Text(|text: &str| self.find(text)))
    }

    fn schema(&self) -> Map<String, Json> {
        object(json!({"type": "string", "enum": spellings(self.words)}))
    }
}

/// A list of different words.
pub struct Words<T: 'static> {
    one: OneWord<T>,
    /// What is wrong with an empty list, where it is not allowed.
    empty: Option<&'static str>,
    order: fn(&mut [T]),
}

/// A list of different words of an enum, in the order of the enum.
pub fn words<T: Word>() -> Words<T> {
    words_of(T::WORDS)
}

/// A list of different words out of these, in the order of their enum.
pub fn words_of<T: Word>(words: &'static [T]) -> Words<T> {
    Words {
        one: one_of(words),
        empty: None,
        order: |words| words.sort_unstable(),
    }
}

impl<T: Word> Words<T> {
    /// An empty list is refused with this message.
    #[must_use]
    pub fn not_empty(self, message: &'static str) -> Words<T> {
        Words {
            empty: Some(message),
            ..self
        }
    }

    /// The words stay in the order of the file.
    #[must_use]
    pub fn as_listed(self) -> Words<T> {
        Words {
            order: |_| (),
            ..self
        }
    }

    /// The words are put into the order of the alphabet.
    #[must_use]
    pub fn by_alphabet(self) -> Words<T> {
        Words {
            order: |words| words.sort_unstable_by_key(|word| word.word()),
            ..self
        }
    }
}

impl<T: Word> Shape for Words<T> {
    type Value = Vec<T>;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<Vec<T>, Error> {
        let mut list = value.deserialize_any(List(|text: &str| self.one.find(text)))?;
        if let (Some(message), true) = (self.empty, list.is_empty()) {
            return Err(Error::custom(message));
        }
        (self.order)(&mut list);
        Ok(list)
    }

    fn schema(&self) -> Map<String, Json> {
        let mut schema = object(json!({"type": "array"}));
        if self.empty.is_some() {
            schema.insert("minItems".to_owned(), 1.into());
        }
        schema.insert("uniqueItems".to_owned(), true.into());
        let words = json!({"enum": spellings(self.one.words)});
        schema.insert("items".to_owned(), words);
        schema
    }
}

/// A list of different texts, none of them empty.
pub struct Texts {
    /// What is wrong with one that is refused.
    refused: &'static str,
    accepts: fn(&str) -> bool,
}

/// A list of different texts; an empty one is refused with this message.
pub fn texts(empty: &'static str) -> Texts {
    Texts {
        refused: empty,
        accepts: |text| !text.is_empty(),
    }
}

/// A list of players by name.
pub fn player_names() -> Texts {
    Texts {
        refused: "a player's name has a letter or a digit",
        accepts: |name| hobble_terms::names::player_key(name).is_some(),
    }
}

impl Shape for Texts {
    type Value = Vec<String>;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<Vec<String>, Error> {
        value.deserialize_any(List(|text: &str| match (self.accepts)(text) {
            true => Ok(text.to_owned()),
            false => Err(self.refused.to_owned()),
        }))
    }

    fn schema(&self) -> Map<String, Json> {
        let items = json!({"type": "string", "minLength": 1});
        object(json!({"type": "array", "uniqueItems": true, "items": items}))
    }
}

fn spellings<T: Word>(words: &[T]) -> Vec<&'static str> {
    words.iter().map(|word| word.word()).collect()
}

/// The fields of a JSON object.
pub(super) fn object(value: Json) -> Map<String, Json> {
    match value {
        Json::Object(fields) => fields,
        _ => Map::new(),
    }
}

/// Reads a whole number and passes it on.
struct Integer<F>(F);

impl<T, F: FnOnce(i64) -> Result<T, String>> Visitor<'_> for Integer<F> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a whole number")
    }

    fn visit_i64<E: serde::de::Error>(self, number: i64) -> Result<T, E> {
        (self.0)(number).map_err(E::custom)
    }
}

/// Reads a text and passes it on.
pub(super) struct Text<F>(pub(super) F);

impl<T, F: FnOnce(&str) -> Result<T, String>> Visitor<'_> for Text<F> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a text in quotes")
    }

    fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<T, E> {
        (self.0)(text).map_err(E::custom)
    }
}

/// Reads a list of texts, passes each on and refuses one that is there already.
pub(super) struct List<F>(pub(super) F);

impl<'de, T: PartialEq, F: Fn(&str) -> Result<T, String>> Visitor<'de> for List<F> {
    type Value = Vec<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list, as [\"…\", \"…\"]")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Vec<T>, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element_seed(Item(&self.0, &list))? {
            list.push(item);
        }
        Ok(list)
    }
}

/// Reads an item of a list that holds these already. A mistake has the place of the item.
struct Item<'a, T, F>(&'a F, &'a [T]);

impl<'de, T: PartialEq, F: Fn(&str) -> Result<T, String>> DeserializeSeed<'de> for Item<'_, T, F> {
    type Value = T;

    fn deserialize<D: Deserializer<'de>>(self, value: D) -> Result<T, D::Error> {
        let Item(read, list) = self;
        value.deserialize_any(Text(|text: &str| {
            let item = read(text)?;
            if list.contains(&item) {
                return Err(format!("\"{text}\" stands here twice"));
            }
            Ok(item)
        }))
    }
}
