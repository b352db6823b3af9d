//! What can go wrong with a deposit.

use std::io;
use std::path::{Path, PathBuf};

use hobble_terms::manifest::ManifestError;
use parquet::errors::ParquetError;

/// What can go wrong with a deposit. The messages do not repeat their sources: print the chain.
#[derive(Debug, thiserror::Error)]
pub enum Error {
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
    /// A file or folder cannot be read.
    #[error("{path}: cannot be read", path = path.display())]
    Read {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A file or folder cannot be written.
    #[error("{path}: cannot be written", path = path.display())]
    Write {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A file is not readable as Parquet.
    #[error("{path}: cannot be read as a table", path = path.display())]
    Parquet {
        /// The file.
        path: PathBuf,
        /// What the reader or writer said.
        source: ParquetError,
    },
    /// A description cannot be written as JSON.
    #[error("a description cannot be written as JSON")]
    Json(#[from] serde_json::Error),
}

impl Error {
    pub(crate) fn read(path: &Path) -> impl FnOnce(io::Error) -> Error {
        let path = path.to_owned();
        move |source| Error::Read { path, source }
    }

    pub(crate) fn write(path: &Path) -> impl FnOnce(io::Error) -> Error {
        let path = path.to_owned();
        move |source| Error::Write { path, source }
    }

    pub(crate) fn parquet(path: &Path) -> impl Fn(ParquetError) -> Error {
        let path = path.to_owned();
        move |source| Error::Parquet {
            path: path.clone(),
            source,
        }
    }
}
