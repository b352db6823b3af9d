//! What can be wrong with a dataset.

use std::path::PathBuf;

use hobble_terms::Table;
use hobble_terms::manifest::{FILE, ManifestError, advice};
use parquet::errors::ParquetError;
use polars::prelude::PolarsError;
use thiserror::Error;

/// One clear line each: what, where, and what to do.
#[derive(Debug, Error)]
pub enum DatasetError {
    /// The folder holds no scan.
    #[error("{dir} holds no tables: no {FILE} there; make them with `hobble scan`")]
    NoDataset {
        /// The folder.
        dir: PathBuf,
    },
    /// The manifest cannot be used.
    #[error(transparent)]
    Manifest(#[from] ManifestError),
    /// A table follows other definitions than this program.
    #[error(
        "{path}: definitions version {found}, this program follows version {expected}: {advice}",
        advice = advice(*found)
    )]
    Definitions {
        /// The file of the table.
        path: PathBuf,
        /// Its version.
        found: u32,
        /// The program's version.
        expected: u32,
    },
    /// A table that the question needs is not there.
    #[error("{dir} has no table \"{table}\": scan again with it among --tables")]
    NoTable {
        /// The folder.
        dir: PathBuf,
        /// The table.
        table: Table,
    },
    /// A file that the manifest names is not there.
    #[error(
        "{path}: named by the manifest, but not there; scan the archives again into a new folder"
    )]
    NoPart {
        /// The file.
        path: PathBuf,
    },
    /// A folder cannot be listed.
    #[error("{dir} cannot be listed")]
    Folder {
        /// The folder.
        dir: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A file of a table cannot be read.
    #[error("{path}: cannot be read")]
    Table {
        /// The file.
        path: PathBuf,
        /// Why.
        source: ParquetError,
    },
    /// A column that the question needs is not in a file: another version of the program wrote it.
    #[error(
        "{path}: there is no column \"{column}\"; scan the archive again with this version of hobble"
    )]
    NoColumn {
        /// The file.
        path: PathBuf,
        /// The column.
        column: String,
    },
    /// A table holds what its schema does not allow.
    #[error("table \"{table}\": {what}")]
    BadTable {
        /// The table.
        table: &'static str,
        /// What is wrong with it.
        what: String,
    },
    /// Rating bands of a width that those of the tables cannot be taken together to.
    #[error(
        "{dir}: its rating bands are {theirs} points wide, and none {width} points wide can be made of them; ask with another band_width, or scan the archives again"
    )]
    Bands {
        /// The folder.
        dir: PathBuf,
        /// Width in the tables, in points.
        theirs: u16,
        /// Width asked for, in points.
        width: u16,
    },
    /// A query over frames does not fit the tables.
    #[error("the query does not fit the tables")]
    Frame(#[source] PolarsError),
}
