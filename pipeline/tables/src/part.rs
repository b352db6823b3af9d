//! Files that appear whole or not at all.
//!
//! The files of a part are written below `.unfinished` in the folder of tables and moved
//! to their places when all of them are complete; the manifest names them after that.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use parquet::errors::ParquetError;
use parquet::file::metadata::ParquetMetaDataReader;
use parquet::file::writer::SerializedFileWriter;

use crate::encode::EncodedGroup;
use crate::gather::Layouts;
use crate::scan::ScanError;
use hobble_terms::Table;
use hobble_terms::manifest::{Manifest, Size, advice};

/// Folder of unfinished files.
pub const UNFINISHED: &str = ".unfinished";

struct OpenTable {
    table: Table,
    temporary: PathBuf,
    file: SerializedFileWriter<BufWriter<File>>,
    rows: u64,
}

/// The files of a part being written.
pub struct PartWriter {
    folder: PathBuf,
    source: String,
    part: u64,
    tables: Vec<OpenTable>,
}

impl PartWriter {
    /// Opens the files of a part.
    ///
    /// # Errors
    ///
    /// What the system says.
    pub fn create(
        folder: &Path,
        source: &str,
        part: u64,
        layouts: &Layouts,
    ) -> Result<PartWriter, ScanError> {
        let unfinished = folder.join(UNFINISHED);
        fs::create_dir_all(&unfinished).map_err(|error| ScanError::write(&unfinished, error))?;
        let mut tables = Vec::new();
        for &table in layouts.wanted() {
            let temporary = unfinished.join(format!("{}-{part:05}.parquet", table.name()));
            let file =
                File::create(&temporary).map_err(|error| ScanError::write(&temporary, error))?;
            let file = layouts
                .of(table)
                .open(BufWriter::with_capacity(1 << 20, file))
                .map_err(|error| failed(&temporary, error))?;
            tables.push(OpenTable {
                table,
                temporary,
                file,
                rows: 0,
            });
        }
        Ok(PartWriter {
            folder: folder.to_owned(),
            source: source.to_owned(),
            part,
            tables,
        })
    }

    /// Appends rows to a table.
    ///
    /// # Errors
    ///
    /// What the writer says.
    pub fn append(&mut self, table: Table, group: EncodedGroup) -> Result<(), ScanError> {
        let Some(open) = self.tables.iter_mut().find(|open| open.table == table) else {
            return Ok(());
        };
        open.rows += group.rows();
        group
            .append(&mut open.file)
            .map_err(|error| failed(&open.temporary, error))
    }

    /// Completes the files and moves them to their places.
    ///
    /// # Errors
    ///
    /// What the system says.
    pub fn finish(self) -> Result<BTreeMap<Table, Size>, ScanError> {
        let mut done = Vec::new();
        for open in self.tables {
            let buffer = open
                .file
                .into_inner()
                .map_err(|error| failed(&open.temporary, error))?;
            let bytes =
                complete(buffer).map_err(|error| ScanError::write(&open.temporary, error))?;
            done.push((
                open.table,
                open.temporary,
                Size {
                    rows: open.rows,
                    bytes,
                },
            ));
        }
        let mut sizes = BTreeMap::new();
        for (table, temporary, size) in done {
            let place = table.part_file(&self.folder, &self.source, self.part);
            let place_folder = place.parent().unwrap_or(&self.folder);
            fs::create_dir_all(place_folder)
                .and_then(|()| fs::rename(&temporary, &place))
                .map_err(|error| ScanError::write(&place, error))?;
            sizes.insert(table, size);
        }
        Ok(sizes)
    }
}

/// What the writer said of a file, as the system said it where it was the system.
fn failed(path: &Path, error: ParquetError) -> ScanError {
    let error = match error {
        ParquetError::External(inner) => match inner.downcast::<io::Error>() {
            Ok(error) => *error,
            Err(inner) => io::Error::other(inner),
        },
        error => io::Error::other(error),
    };
    ScanError::write(path, error)
}

/// A file that is not what its manifest says.
#[derive(Debug, thiserror::Error)]
pub enum PartError {
    /// It cannot be opened.
    #[error("{path}: named by the manifest, but cannot be opened: {error}", path = path.display())]
    Open {
        /// The file.
        path: PathBuf,
        /// What the system said.
        error: io::Error,
    },
    /// It has another size.
    #[error("{path}: has {found} bytes, where the manifest says {said}; scan the archives again into a new folder", path = path.display())]
    Size {
        /// The file.
        path: PathBuf,
        /// Bytes of the file.
        found: u64,
        /// Bytes in the manifest.
        said: u64,
    },
    /// It is no Parquet file.
    #[error("{path}: cannot be read: {error}; scan the archives again into a new folder", path = path.display())]
    Parquet {
        /// The file.
        path: PathBuf,
        /// What the reader said.
        error: ParquetError,
    },
    /// It follows other definitions.
    #[error(
        "{path}: written by definitions version {theirs}, this program follows version {ours}: {advice}",
        path = path.display(),
        advice = advice(*theirs)
    )]
    Definitions {
        /// The file.
        path: PathBuf,
        /// Version of the file.
        theirs: u32,
        /// Version of the program.
        ours: u32,
    },
}

/// Looks at the foot of every file that the manifest names: whether it is there and whole
/// (with `sizes`, of the size written down), and follows the definitions of this program.
///
/// # Errors
///
/// The first file that is not so.
pub fn verify(folder: &Path, manifest: &Manifest, sizes: bool) -> Result<(), PartError> {
    for source in &manifest.sources {
        for part in &source.parts {
            for (&table, size) in &part.tables {
                let path = table.part_file(folder, &source.source, part.part);
                let open = |error| PartError::Open {
                    path: path.clone(),
                    error,
                };
                let file = File::open(&path).map_err(open)?;
                let found = file.metadata().map_err(open)?.len();
                if sizes && found != size.bytes {
                    return Err(PartError::Size {
                        path,
                        found,
                        said: size.bytes,
                    });
                }
                let about = ParquetMetaDataReader::new()
                    .parse_and_finish(&file)
                    .map_err(|error| PartError::Parquet {
                        path: path.clone(),
                        error,
                    })?;
                let pairs = about.file_metadata().key_value_metadata();
                let theirs = pairs
                    .into_iter()
                    .flatten()
                    .find(|pair| pair.key == "hobble.definitions")
                    .and_then(|pair| pair.value.as_ref()?.parse().ok())
                    .unwrap_or(0);
                if theirs != hobble_terms::DEFINITIONS {
                    return Err(PartError::Definitions {
                        path,
                        theirs,
                        ours: hobble_terms::DEFINITIONS,
                    });
                }
            }
        }
    }
    Ok(())
}

fn complete(mut buffer: BufWriter<File>) -> io::Result<u64> {
    buffer.flush()?;
    let file = buffer
        .into_inner()
        .map_err(io::IntoInnerError::into_error)?;
    file.sync_all()?;
    Ok(file.metadata()?.len())
}

/// Removes what an interrupted scan left unfinished.
///
/// # Errors
///
/// What the system says.
pub fn clear(folder: &Path) -> Result<(), ScanError> {
    let unfinished = folder.join(UNFINISHED);
    match fs::remove_dir_all(&unfinished) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(ScanError::write(&unfinished, error)),
    }
}
