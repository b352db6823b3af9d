//! A grid is sifted in three counts of the tables, each knowing what came of the one before:
//! which moves both halves have, what the half says in which claims are looked for, and what the locked
//! half says.
//!
//! Each is a sum over parts, so that parts can be counted apart and added.

use std::borrow::Cow;

use hobble_conditions::AskError;
use hobble_conditions::chosen::{self, Chooses};
use hobble_conditions::fields::QuestionFile as _;
use hobble_dataset::Dataset;
use serde::{Deserialize, Serialize};

use crate::grid::Grid;

/// What states of a grid say that they are about.
pub const ABOUT: &str = "sift";

/// A count of the tables for a grid.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Step<K> {
    /// What is tried.
    pub grid: Grid,
    /// What came of the count before.
    pub known: K,
}

impl<K> Step<K> {
    /// The count after this one, of which this came.
    pub(crate) fn then<L>(&self, known: L) -> Step<L> {
        Step {
            grid: self.grid.clone(),
            known,
        }
    }
}

impl<K> Chooses for Step<K> {
    fn chosen<'a>(&self, dataset: &'a Dataset) -> Result<Cow<'a, Dataset>, AskError> {
        chosen::of_question(self.grid.games(), dataset)
    }

    fn chooses(&self) -> bool {
        self.grid.games().chooses_sides()
    }
}

/// How the parts of the locked half come to be counted.
pub(crate) const TO_OPEN: &str = "open it with --first and --open, and count the parts with --first and the file that is written";

/// The answer to states of a count that is not the last.
pub(crate) fn not_yet(what: &str, then: &str) -> AskError {
    AskError::State(format!(
        "these states hold {what}: write their sum with --state, and {then}"
    ))
}
