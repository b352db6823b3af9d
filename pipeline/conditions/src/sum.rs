//! Questions whose work is a sum over parts: `part -> state`, `state + state`,
//! `state -> answer`.
//!
//! A state holds counts, and the few rows that examples may be taken from. It does not grow
//! with the archive, can be added up in any order and grouping, and can be written to a file
//! and read back: one machine counts some parts, another the rest, a third adds and answers.

use std::fs::File;
use std::io::{BufReader, BufWriter, Write as _};
use std::path::Path;

use hobble_dataset::{Dataset, PartId};
use hobble_terms::Table;
use rayon::prelude::*;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_64;

use crate::chosen::Chooses;
use crate::error::AskError;
use hobble_report::replace_file;

/// Version of the shape of a state's file.
pub const FORMAT: u32 = 1;

/// What is counted; by default nothing yet.
pub trait State: Default + Serialize + DeserializeOwned {
    /// Adds what was counted elsewhere. The order makes no difference.
    fn add(&mut self, other: Self);
}

/// A question whose work is a sum over parts; or one step of it, where parts are asked more than
/// once, later with what came of the sum before.
pub trait Sum: Chooses + Serialize + Sync {
    /// What is counted.
    type State: State + Send;
    /// What comes of it.
    type Answer;

    /// Whether it can be asked as it is.
    ///
    /// # Errors
    ///
    /// Where fields do not go together.
    fn fits(&self) -> Result<(), AskError> {
        Ok(())
    }

    /// Tables without which there is no answer; their parts are counted.
    fn tables(&self) -> &'static [Table];

    /// Tables that are counted where they are there.
    fn optional(&self) -> &'static [Table] {
        &[]
    }

    /// Counts one part.
    ///
    /// # Errors
    ///
    /// Where a table is unreadable or inconsistent.
    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<Self::State, AskError>;

    /// The answer to all that was counted. What it shows of single games is read from the
    /// tables.
    ///
    /// # Errors
    ///
    /// Where a table is missing, unreadable or inconsistent.
    fn answer(&self, dataset: &Dataset, state: &Self::State) -> Result<Self::Answer, AskError>;
}

/// Counts every part of a dataset and answers.
///
/// # Errors
///
/// Where the question does not fit, or a table is missing, unreadable or inconsistent.
pub fn answer<S: Sum>(question: &S, dataset: &Dataset) -> Result<S::Answer, AskError> {
    question.fits()?;
    let chosen = question.chosen(dataset)?;
    let dataset = &*chosen;
    let ids = dataset.part_ids(question.tables(), question.optional())?;
    let state = ids
        .par_iter()
        .try_fold(S::State::default, |mut sum, id| {
            sum.add(question.part(dataset, id)?);
            Ok(sum)
        })
        .try_reduce(S::State::default, |mut sum, other| {
            sum.add(other);
            Ok::<_, AskError>(sum)
        })?;
    question.answer(dataset, &state)
}

/// A state together with what it counts, so that states that do not belong together are
/// never added up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Counted<T> {
    /// Version of this shape: [`FORMAT`].
    pub format: u32,
    /// Version of the program that counted.
    pub hobble: String,
    /// Version of the definitions the tables follow.
    pub definitions: u32,
    /// Hash of the question, as 16 hexadecimal digits.
    pub question: String,
    /// The parts counted, in order.
    pub parts: Vec<PartId>,
    /// The counts.
    pub state: T,
}

impl<T: State> Counted<T> {
    /// Counts some parts.
    ///
    /// # Errors
    ///
    /// Where the question does not fit, or a table is unreadable or inconsistent.
    pub fn of<S: Sum<State = T>>(
        question: &S,
        dataset: &Dataset,
        parts: &[PartId],
    ) -> Result<Counted<T>, AskError> {
        question.fits()?;
        let chosen = question.chosen(dataset)?;
        let mut state = T::default();
        for id in parts {
            state.add(question.part(&chosen, id)?);
        }
        let mut parts = parts.to_vec();
        parts.sort();
        Ok(Counted {
            format: FORMAT,
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            definitions: dataset.definitions(),
            question: hash(question)?,
            parts,
            state,
        })
    }

    /// Adds another state.
    ///
    /// # Errors
    ///
    /// Where it is of another question or other definitions, or counts a part again.
    pub fn add(&mut self, other: Counted<T>) -> Result<(), AskError> {
        if let Some(twice) = other.parts.iter().find(|id| self.parts.contains(id)) {
            return Err(AskError::State(format!("{twice} is counted twice")));
        }
        if (&self.question, self.definitions) != (&other.question, other.definitions) {
            return Err(AskError::State(
                "states of different questions or definitions cannot be added".to_owned(),
            ));
        }
        self.parts.extend(other.parts);
        self.parts.sort();
        self.state.add(other.state);
        Ok(())
    }

    /// The answer, where every part of the dataset is counted.
    ///
    /// # Errors
    ///
    /// Where parts are missing, the state is of another question, or a table is unreadable.
    pub fn answer<S: Sum<State = T>>(
        &self,
        question: &S,
        dataset: &Dataset,
    ) -> Result<S::Answer, AskError> {
        if self.question != hash(question)? {
            return Err(AskError::State(
                "the state is of another question".to_owned(),
            ));
        }
        let chosen = question.chosen(dataset)?;
        let dataset = &*chosen;
        let ids = dataset.part_ids(question.tables(), question.optional())?;
        if let Some(missing) = ids.iter().find(|id| !self.parts.contains(id)) {
            return Err(AskError::State(format!("{missing} is not counted")));
        }
        if let Some(unknown) = self.parts.iter().find(|id| !ids.contains(id)) {
            return Err(AskError::State(format!("{unknown} is not in the tables")));
        }
        question.answer(dataset, &self.state)
    }

    /// Writes the state to a file, which is there whole or not at all.
    ///
    /// # Errors
    ///
    /// Where the file cannot be written.
    pub fn write(&self, path: &Path) -> Result<(), AskError> {
        replace_file(path, |file| {
            let mut out = BufWriter::new(file);
            serde_json::to_writer(&mut out, self)?;
            out.flush()
        })
        .map_err(|error| AskError::State(format!("{}: cannot be written: {error}", path.display())))
    }

    /// Reads a state back.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read, or is of another version.
    pub fn read(path: &Path) -> Result<Counted<T>, AskError> {
        let bad = |what: String| AskError::State(format!("{}: {what}", path.display()));
        let file = File::open(path).map_err(|error| bad(format!("cannot be read: {error}")))?;
        let counted: Counted<T> = serde_json::from_reader(BufReader::new(file))
            .map_err(|error| bad(format!("invalid state: {error}")))?;
        if counted.format != FORMAT {
            return Err(bad(format!(
                "format {}, this program reads format {FORMAT}",
                counted.format
            )));
        }
        Ok(counted)
    }
}

/// Tells questions apart: everything their file says, overrides applied.
fn hash(question: &impl Serialize) -> Result<String, AskError> {
    let text = serde_json::to_vec(question)
        .map_err(|error| AskError::State(format!("the question cannot be hashed: {error}")))?;
    Ok(format!("{:016x}", xxh3_64(&text)))
}

/// Maps written as a list of pairs, since keys of JSON objects are texts.
pub mod pairs {
    use std::collections::BTreeMap;

    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    /// Writes the pairs in the order of their keys.
    pub fn serialize<S: Serializer, K: Serialize, V: Serialize>(
        map: &BTreeMap<K, V>,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(map)
    }

    /// Reads them back.
    pub fn deserialize<'de, D, K, V>(deserializer: D) -> Result<BTreeMap<K, V>, D::Error>
    where
        D: Deserializer<'de>,
        K: Deserialize<'de> + Ord,
        V: Deserialize<'de>,
    {
        let pairs = Vec::<(K, V)>::deserialize(deserializer)?;
        Ok(pairs.into_iter().collect())
    }
}

/// The same for hash maps, in the order of their keys.
pub mod hashed {
    use rustc_hash::FxHashMap;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};
    use std::hash::Hash;

    /// Writes the pairs in the order of their keys.
    pub fn serialize<S: Serializer, K: Serialize + Ord, V: Serialize>(
        map: &FxHashMap<K, V>,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        let mut pairs: Vec<(&K, &V)> = map.iter().collect();
        pairs.sort_unstable_by_key(|pair| pair.0);
        serializer.collect_seq(pairs)
    }

    /// Reads them back.
    pub fn deserialize<'de, D, K, V>(deserializer: D) -> Result<FxHashMap<K, V>, D::Error>
    where
        D: Deserializer<'de>,
        K: Deserialize<'de> + Eq + Hash,
        V: Deserialize<'de>,
    {
        let pairs = Vec::<(K, V)>::deserialize(deserializer)?;
        Ok(pairs.into_iter().collect())
    }
}

/// Arrays longer than those that serde writes by itself.
pub mod array {
    use serde::de::Error as _;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    /// Writes the values as a list.
    pub fn serialize<S: Serializer, T: Serialize, const N: usize>(
        array: &[T; N],
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(array)
    }

    /// Reads them back.
    pub fn deserialize<'de, D, T, const N: usize>(deserializer: D) -> Result<[T; N], D::Error>
    where
        D: Deserializer<'de>,
        T: Deserialize<'de>,
    {
        let values = Vec::deserialize(deserializer)?;
        let number = values.len();
        let array = values.try_into();
        array.map_err(|_| D::Error::invalid_length(number, &N.to_string().as_str()))
    }
}
