//! What can stand in the way of an answer.

use hobble_dataset::DatasetError;
use hobble_terms::Table;
use thiserror::Error;

/// One clear line each: what, where, and what to do.
#[derive(Debug, Error)]
pub enum AskError {
    /// Neither a shipped question nor a file.
    #[error("no question \"{name}\": ask one of {shipped}, or name a question file")]
    UnknownQuestion {
        /// The name asked for.
        name: String,
        /// The shipped names.
        shipped: String,
    },
    /// A question file cannot be read.
    #[error("question file {file} cannot be read")]
    QuestionFile {
        /// The file.
        file: String,
        /// Why.
        source: std::io::Error,
    },
    /// A question file says something it cannot say.
    #[error("{file}, line {line}, field \"{field}\": {what}")]
    QuestionField {
        /// The file.
        file: String,
        /// Line, from 1.
        line: usize,
        /// The field.
        field: String,
        /// What is wrong with it.
        what: String,
    },
    /// A question file is not TOML.
    #[error("{file}, line {line}: {what}")]
    QuestionSyntax {
        /// The file.
        file: String,
        /// Line, from 1.
        line: usize,
        /// What is wrong with it.
        what: String,
    },
    /// A value, of the question or given beside it, is out of range or in none of the tables.
    #[error("{name}: {what}")]
    Override {
        /// What was given, as `k`.
        name: &'static str,
        /// What is wrong with it.
        what: String,
    },
    /// No side of any game is looked at.
    #[error("no side of a game passes the filters ({})", filters.join("; "))]
    NoSides {
        /// The filters.
        filters: Vec<String>,
    },
    /// The tables cannot be read.
    #[error(transparent)]
    Dataset(#[from] DatasetError),
    /// A state cannot be read, written, added to another or answered from.
    #[error("state: {0}")]
    State(String),
    /// No game of a player is found, or none is named.
    #[error("player \"{name}\": {what}")]
    Player {
        /// The name or alias given.
        name: String,
        /// What is wrong with it, and what it may have meant.
        what: String,
    },
}

impl AskError {
    /// A table holds what its schema does not allow.
    pub fn bad_table(table: Table, what: String) -> AskError {
        AskError::Dataset(DatasetError::BadTable {
            table: table.name(),
            what,
        })
    }
}

/// The error of a state.
pub(crate) fn refused(what: impl Into<String>) -> AskError {
    AskError::State(what.into())
}
