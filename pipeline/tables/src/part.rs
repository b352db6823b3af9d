//! Files that appear whole or not at all.
//!
//! The files of a part are written below `.unfinished` in the folder of tables and moved
//! to their places when all of them are complete; the manifest names them after that.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use hobble_terms::manifest::{Manifest, Size};
use hobble_terms::table::ALL_SOURCES;
use hobble_terms::{DEFINITIONS, Table};
use parquet::file::metadata::ParquetMetaDataReader;
use parquet::file::writer::SerializedFileWriter;

use crate::encode::EncodedGroup;
use crate::error::Error;
use crate::layouts::Layouts;

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
    /// Where a file cannot be created.
    pub fn create(
        folder: &Path,
        source: &str,
        part: u64,
        layouts: &Layouts,
    ) -> Result<PartWriter, Error> {
        let unfinished = folder.join(UNFINISHED);
        fs::create_dir_all(&unfinished).map_err(Error::write(&unfinished))?;
        let mut tables = Vec::new();
        for &table in layouts.wanted() {
            // Players are not known before the scan has ended.
            if table == Table::Players && source != ALL_SOURCES {
                continue;
            }
            let temporary = unfinished.join(format!("{}-{part:05}.parquet", table.name()));
            let file = File::create(&temporary).map_err(Error::write(&temporary))?;
            let file = layouts
                .of(table)
                .open(BufWriter::with_capacity(1 << 20, file))
                .map_err(Error::writer(&temporary))?;
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
    /// Where the file cannot be written.
    pub fn append(&mut self, table: Table, group: EncodedGroup) -> Result<(), Error> {
        let Some(open) = self.tables.iter_mut().find(|open| open.table == table) else {
            return Ok(());
        };
        open.rows += group.rows();
        group
            .append(&mut open.file)
            .map_err(Error::writer(&open.temporary))
    }

    /// Completes the files and moves them to their places.
    ///
    /// # Errors
    ///
    /// Where a file cannot be written or moved.
    pub fn finish(self) -> Result<BTreeMap<Table, Size>, Error> {
        let mut done = Vec::new();
        for open in self.tables {
            let buffer = open
                .file
                .into_inner()
                .map_err(Error::writer(&open.temporary))?;
            let bytes = complete(buffer).map_err(Error::write(&open.temporary))?;
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
                .map_err(Error::write(&place))?;
            sizes.insert(table, size);
        }
        Ok(sizes)
    }
}

/// Checks the footer of every file that the manifest names: that the file is there and whole
/// (with `sizes`, of the size in the manifest), and follows the definitions of this program.
///
/// # Errors
///
/// About the first file that is not so.
pub fn verify(folder: &Path, manifest: &Manifest, sizes: bool) -> Result<(), Error> {
    for source in &manifest.sources {
        for part in &source.parts {
            for (&table, size) in &part.tables {
                let path = table.part_file(folder, &source.source, part.part);
                verify_file(&path, sizes.then_some(size.bytes))?;
            }
        }
    }
    for (table, file) in manifest.files_of_all() {
        let path = table.part_file(folder, ALL_SOURCES, file.part);
        verify_file(&path, sizes.then_some(file.size.bytes))?;
    }
    Ok(())
}

/// Checks one file; `expected` is its size.
fn verify_file(path: &Path, expected: Option<u64>) -> Result<(), Error> {
    let missing = |source| Error::Missing {
        path: path.to_owned(),
        source,
    };
    let file = File::open(path).map_err(missing)?;
    let found = file.metadata().map_err(missing)?.len();
    if let Some(expected) = expected.filter(|&expected| expected != found) {
        return Err(Error::Size {
            path: path.to_owned(),
            found,
            expected,
        });
    }
    let footer = ParquetMetaDataReader::new()
        .parse_and_finish(&file)
        .map_err(Error::parquet(path))?;
    let pairs = footer.file_metadata().key_value_metadata();
    let found = pairs
        .into_iter()
        .flatten()
        .find(|pair| pair.key == "hobble.definitions")
        .and_then(|pair| pair.value.as_ref()?.parse().ok())
        .unwrap_or(0);
    if found == DEFINITIONS {
        Ok(())
    } else {
        Err(Error::Definitions {
            path: path.to_owned(),
            found,
        })
    }
}

fn complete(mut buffer: BufWriter<File>) -> io::Result<u64> {
    buffer.flush()?;
    let file = buffer
        .into_inner()
        .map_err(io::IntoInnerError::into_error)?;
    file.sync_all()?;
    Ok(file.metadata()?.len())
}

/// The entries of a folder.
///
/// # Errors
///
/// Where it cannot be read.
pub fn entries(folder: &Path) -> Result<Vec<PathBuf>, Error> {
    let entries = fs::read_dir(folder).map_err(Error::read(folder))?;
    entries
        .map(|entry| entry.map(|entry| entry.path()).map_err(Error::read(folder)))
        .collect()
}

/// Removes the parts in the folder of a source that are not among those named.
///
/// # Errors
///
/// Where the folder cannot be read or a part cannot be removed.
pub fn remove_unnamed(folder: &Path, named: &[PathBuf]) -> Result<(), Error> {
    for file in entries(folder)? {
        let is_part = file.extension().is_some_and(|end| end == "parquet");
        if is_part && !named.contains(&file) {
            fs::remove_file(&file).map_err(Error::write(&file))?;
        }
    }
    Ok(())
}

/// Removes what an interrupted scan left unfinished.
///
/// # Errors
///
/// Where the folder cannot be removed.
pub fn clear(folder: &Path) -> Result<(), Error> {
    let unfinished = folder.join(UNFINISHED);
    match fs::remove_dir_all(&unfinished) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(Error::write(&unfinished)(error)),
    }
}
