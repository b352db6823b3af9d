//! Questions whose work is a sum over parts: `part -> state`, `state + state`,
//! `state -> answer`.
//!
//! A state holds counts, and the few rows that examples may be taken from. It does not grow
//! with the archive, can be added up in any order and grouping, and can be written to a file
//! and read back: one machine counts some parts, another the rest, a third adds and answers.

use hobble_dataset::{Dataset, PartId};
use hobble_terms::Table;
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::chosen::Chooses;
use crate::error::AskError;

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

    /// Tables that the games shown are read from, where they are there.
    fn shown(&self) -> &'static [Table] {
        &[]
    }

    /// Puts the games that the answer may show into a state, so that it needs no tables.
    ///
    /// # Errors
    ///
    /// Where a table is unreadable or inconsistent.
    fn keep(&self, _: &Dataset, _: &mut Self::State) -> Result<(), AskError> {
        Ok(())
    }

    /// Counts one part.
    ///
    /// # Errors
    ///
    /// Where a table is unreadable or inconsistent.
    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<Self::State, AskError>;

    /// What is counted of parts in which no side passes the filters, while other parts may have some.
    ///
    /// # Errors
    ///
    /// Where a table is unreadable or inconsistent.
    fn of_none(&self, _: &Dataset, _: &[PartId]) -> Result<Self::State, AskError> {
        Ok(Self::State::default())
    }

    /// The answer to all that was counted. What it shows of single games is read from the
    /// tables, unless the state keeps it.
    ///
    /// # Errors
    ///
    /// Where a table is missing, unreadable or inconsistent.
    fn answer(&self, dataset: &Dataset, state: &Self::State) -> Result<Self::Answer, AskError>;
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
