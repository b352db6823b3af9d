//! What can go wrong.

use std::path::PathBuf;

use hobble_conditions::AskError;
use hobble_dataset::DatasetError;

/// Why nothing was sifted.
#[derive(Debug, thiserror::Error)]
pub enum SiftError {
    /// A grid file that cannot be used.
    #[error("{file}: {what}")]
    Grid {
        /// The file.
        file: String,
        /// What is wrong.
        what: String,
    },
    /// The ledger of openings cannot be used.
    #[error("{path}: {what}")]
    Ledger {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// A file of the answer cannot be written.
    #[error("{path}: cannot be written")]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A table, or a claim of the grid.
    #[error(transparent)]
    Ask(#[from] AskError),
    /// The dataset.
    #[error(transparent)]
    Dataset(#[from] DatasetError),
}
