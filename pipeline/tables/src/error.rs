//! What can go wrong with tables.

use std::io;
use std::path::{Path, PathBuf};

use hobble_archive::ArchiveError;
use hobble_terms::manifest::ManifestError;
use hobble_terms::{DEFINITIONS, Table};
use parquet::errors::ParquetError;

/// What can go wrong with tables. The messages do not repeat their sources: print the chain.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// An archive cannot be opened or read.
    #[error(transparent)]
    Archive(#[from] ArchiveError),
    /// The manifest cannot be read or written.
    #[error(transparent)]
    Manifest(#[from] ManifestError),
    /// Tables without the games among which repeats would be found.
    #[error("{folder}: repeats cannot be found, since there is no table `games`: scan all archives into a new folder in one go, or with --repeats keep", folder = folder.display())]
    UnknownGames {
        /// The folder of the tables.
        folder: PathBuf,
    },
    /// A file is not one of keys.
    #[error("{path}: is not a file of keys as `hobble keys` writes it", path = path.display())]
    NoKeys {
        /// The file.
        path: PathBuf,
    },
    /// Files of keys do not belong together.
    #[error("{path}: {what}", path = path.display())]
    Keys {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        what: &'static str,
    },
    /// A list of repeats was made of another archive.
    #[error(
        "{file}: has {found} of the {listed} repeats in the list: it was made of another archive or stripe"
    )]
    Listed {
        /// The archive.
        file: String,
        /// Repeats in the list.
        listed: u64,
        /// Games among them that were read.
        found: u64,
    },
    /// An archive whose players' names stand in no table, and which is not read again.
    #[error(
        "{file}: repeats of its games cannot be found by pseudonyms: name it as well, with the archives that are to be added"
    )]
    NamesElsewhere {
        /// The archive.
        file: String,
    },
    /// A cube of a whole folder, which has no place in a manifest alone.
    #[error("{path}: the cube of a scan that has ended can be joined only with its files: scan each archive with --stripe 0/1", path = path.display())]
    CubeApart {
        /// The file of the cube.
        path: PathBuf,
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
    /// Rows cannot be encoded.
    #[error("rows cannot be encoded")]
    Encode(#[source] ParquetError),
    /// A file that the manifest names cannot be opened.
    #[error("{path}: the manifest names it, but it cannot be opened", path = path.display())]
    Missing {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A file has another size than its manifest says.
    #[error(
        "{path}: has {found} bytes, its manifest says {expected}; \
         scan the archives again into a new folder",
        path = path.display()
    )]
    Size {
        /// The file.
        path: PathBuf,
        /// Bytes of the file.
        found: u64,
        /// Bytes in the manifest.
        expected: u64,
    },
    /// A file is not readable as Parquet.
    #[error("{path}: cannot be read; scan the archives again into a new folder", path = path.display())]
    Parquet {
        /// The file.
        path: PathBuf,
        /// What the reader said.
        source: ParquetError,
    },
    /// A file follows other definitions.
    #[error(
        "{path}: written by definitions version {found}, this program follows version \
         {DEFINITIONS}: {advice}",
        path = path.display(),
        advice = hobble_terms::manifest::advice(*found)
    )]
    Definitions {
        /// The file.
        path: PathBuf,
        /// Version of the file.
        found: u32,
    },
    /// A column is missing, or not as declared.
    #[error("{path}: column {column} is not as schemas/{table}.json says", path = path.display())]
    Column {
        /// The file.
        path: PathBuf,
        /// The table.
        table: Table,
        /// The column.
        column: &'static str,
    },
    /// A value of a column is invalid.
    #[error("{path}: column {column} holds the invalid value {value:?}", path = path.display())]
    Value {
        /// The file.
        path: PathBuf,
        /// The column.
        column: &'static str,
        /// The value.
        value: String,
    },
    /// Another scan is writing into the folder.
    #[error("{folder}: another scan is writing into this folder", folder = folder.display())]
    Locked {
        /// The folder.
        folder: PathBuf,
    },
    /// The folder holds tables of unknown origin.
    #[error("{folder}: holds tables but no manifest.json; choose an empty folder", folder = folder.display())]
    TablesWithoutManifest {
        /// The folder.
        folder: PathBuf,
    },
    /// The tables of the folder were made with other parameters.
    #[error(
        "{folder}: its tables were made with {what} {theirs}, not {ours}; choose another folder",
        folder = folder.display()
    )]
    Parameters {
        /// The folder.
        folder: PathBuf,
        /// The parameter.
        what: &'static str,
        /// Its value in the folder.
        theirs: String,
        /// Its value now.
        ours: String,
    },
    /// The tables of the folder have other columns than this program writes.
    #[error(
        "{folder}: {table} there has schema {theirs}, this program writes {ours}; scan into another folder",
        folder = folder.display()
    )]
    Schema {
        /// The folder.
        folder: PathBuf,
        /// The table.
        table: Table,
        /// Its schema in the folder.
        theirs: u32,
        /// The schema now.
        ours: u32,
    },
    /// An archive is not the one a former scan began with.
    #[error("{file}: has changed since its scan; scan it into another folder")]
    Changed {
        /// The archive.
        file: String,
    },
    /// A folder has no manifest.
    #[error("{folder}: holds no manifest.json: no scan, or one that has not begun", folder = folder.display())]
    NoManifest {
        /// The folder.
        folder: PathBuf,
    },
    /// There is no folder to join.
    #[error("no folder of tables is given")]
    NoFolder,
    /// A scan did not read an archive to its end.
    #[error("{folder}: {file} was not read to its end; scan it again", folder = folder.display())]
    Incomplete {
        /// The folder.
        folder: PathBuf,
        /// The archive.
        file: String,
    },
    /// Tables of an older program, with rating bands of another width.
    #[error(
        "{folder}: its rating bands are {width} points wide, not {ours}: scan the archive again",
        folder = folder.display(),
        ours = hobble_terms::Band::WIDTH
    )]
    BandWidth {
        /// The folder.
        folder: PathBuf,
        /// Width in points.
        width: u16,
    },
    /// Two scans differ in what must be the same.
    #[error("{folder}: made with other {what} than {other}", folder = folder.display(), other = other.display())]
    Differ {
        /// The folder.
        folder: PathBuf,
        /// What differs.
        what: &'static str,
        /// The folder it differs from.
        other: PathBuf,
    },
    /// Two scans were given lists of repeats of different passes.
    #[error("{folder}: its list of repeats is of another pass over the archives than that of {other}; gather the scans of each pass by themselves", folder = folder.display(), other = other.display())]
    OtherPass {
        /// The folder.
        folder: PathBuf,
        /// The folder whose list is of another pass.
        other: PathBuf,
    },
    /// Stripes of one archive were read from different bytes.
    #[error("{folder}: {file} is not the archive of that name in {other}", folder = folder.display(), other = other.display())]
    OtherBytes {
        /// The folder.
        folder: PathBuf,
        /// The archive.
        file: String,
        /// The folder it differs from.
        other: PathBuf,
    },
    /// The stripes of an archive are not there exactly once each.
    #[error("{file}: {what}")]
    Stripes {
        /// The archive.
        file: String,
        /// What is wrong.
        what: String,
    },
    /// A file to be joined is in none of the folders.
    #[error("{path}: neither here nor in the folders given; scan again", path = path.display())]
    NotFound {
        /// Where the file belongs.
        path: PathBuf,
    },
}

impl Error {
    /// A file or folder cannot be read.
    pub fn read(path: &Path) -> impl FnOnce(io::Error) -> Error {
        let path = path.to_owned();
        move |source| Error::Read { path, source }
    }

    /// A file or folder cannot be written.
    pub fn write(path: &Path) -> impl FnOnce(io::Error) -> Error {
        let path = path.to_owned();
        move |source| Error::Write { path, source }
    }

    /// A file is not readable as Parquet.
    pub fn parquet(path: &Path) -> impl Fn(ParquetError) -> Error {
        let path = path.to_owned();
        move |source| Error::Parquet {
            path: path.clone(),
            source,
        }
    }

    pub(crate) fn csv(path: &Path) -> impl FnOnce(csv::Error) -> Error {
        let write = Error::write(path);
        move |error| write(error.into())
    }

    /// What the Parquet writer said of a file; if it was the system, what the system said.
    pub fn writer(path: &Path) -> impl FnOnce(ParquetError) -> Error {
        let write = Error::write(path);
        move |error| {
            write(match error {
                ParquetError::External(inner) => match inner.downcast::<io::Error>() {
                    Ok(error) => *error,
                    Err(inner) => io::Error::other(inner),
                },
                error => io::Error::other(error),
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use std::error::Error as _;

    use super::*;

    #[test]
    fn each_cause_stands_once_in_the_chain() {
        let full = || io::Error::other("no space left");
        let path = Path::new("data/x.parquet");
        let wrapped = ParquetError::External(Box::new(full()));
        for error in [
            Error::read(path)(full()),
            Error::write(path)(full()),
            Error::csv(path)(csv::Error::from(full())),
            Error::writer(path)(wrapped),
            Error::parquet(path)(ParquetError::General("no space left".to_owned())),
            Error::Encode(ParquetError::General("no space left".to_owned())),
            Error::Manifest(ManifestError::Write {
                path: path.to_owned(),
                source: full(),
            }),
        ] {
            assert!(!error.to_string().contains("no space"), "{error}");
            let cause = error.source().map(ToString::to_string).unwrap_or_default();
            assert!(cause.ends_with("no space left"), "{error}: {cause}");
        }
    }
}
