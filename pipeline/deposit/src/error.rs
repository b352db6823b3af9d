//! What can go wrong with a deposit.

use std::path::PathBuf;

use hobble_terms::manifest::ManifestError;

/// What can go wrong with a deposit. The messages do not repeat their sources: print the chain.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A file or folder cannot be read or written.
    #[error(transparent)]
    Tables(#[from] hobble_tables::Error),
    /// The manifest cannot be read or written.
    #[error(transparent)]
    Manifest(#[from] ManifestError),
    /// An archive or a file of a table cannot be hashed.
    #[error(transparent)]
    Archive(#[from] hobble_archive::ArchiveError),
    /// A folder has no manifest.
    #[error("{folder}: holds no manifest.json; scan archives first", folder = folder.display())]
    NoManifest {
        /// The folder.
        folder: PathBuf,
    },
    /// The scan has not ended.
    #[error("{folder}: its scan has not read all archives to their end; finish it before", folder = folder.display())]
    Incomplete {
        /// The folder.
        folder: PathBuf,
    },
    /// The folder for the deposit holds files.
    #[error("{folder}: is not empty; choose another folder", folder = folder.display())]
    NotEmpty {
        /// The folder.
        folder: PathBuf,
    },
    /// A description cannot be written as JSON.
    #[error("a description cannot be written as JSON")]
    Json(#[from] serde_json::Error),
}
