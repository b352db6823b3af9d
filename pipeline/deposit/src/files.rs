//! The files of the tables, put into the folder of a deposit.
//!
//! A file is linked where both folders are on one file system, since files of tables never change,
//! else copied. Files with names of archives are written anew where these names have folders.

use std::fs::{self, File};
use std::path::Path;
use std::sync::Arc;

use arrow_array::{Array as _, ArrayRef, RecordBatch, StringArray};
use hobble_archive::listing::Input;
use hobble_archive::stream::hashed;
use hobble_tables::Error as TablesError;
use hobble_tables::encode::Layout;
use hobble_tables::schema::describe;
use hobble_terms::Table;
use hobble_terms::manifest::{Manifest, Size};
use hobble_terms::table::ALL_SOURCES;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::arrow::arrow_writer::ArrowWriterOptions;

use crate::error::Error;
use crate::names::{file_name, names_folders};

/// The column with the name of an archive.
const FILE: &str = "file";

/// A file of a table in the deposit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DepositedFile {
    /// The table.
    pub table: Table,
    /// Name of its source, as its folder has it.
    pub source: String,
    /// Number of its part.
    pub part: u64,
    /// Path in the deposit, with slashes.
    pub path: String,
    /// Bytes.
    pub bytes: u64,
    /// Rows.
    pub rows: u64,
    /// SHA-256 of the bytes, in hexadecimal.
    pub sha256: String,
}

/// Puts the files that a manifest names into a folder, and notes the sizes of those that were
/// written anew. Files come table by table.
///
/// # Errors
///
/// Where a file cannot be read or written.
pub fn place(
    folder: &Path,
    manifest: &mut Manifest,
    out: &Path,
) -> Result<Vec<DepositedFile>, Error> {
    let anew = names_folders(manifest);
    let mut files = Vec::new();
    for source in &mut manifest.sources {
        for part in &mut source.parts {
            for (&table, size) in &mut part.tables {
                let of = (table, source.source.as_str(), part.part);
                files.push(place_one(folder, of, anew, size, out)?);
            }
        }
    }
    for (table, file) in manifest.files_of_all() {
        // Neither names an archive: their sizes stay.
        let of = (table, ALL_SOURCES, file.part);
        files.push(place_one(folder, of, anew, &mut file.size.clone(), out)?);
    }
    files.sort_by_key(|file| file.table);
    Ok(files)
}

fn place_one(
    folder: &Path,
    (table, source, part): (Table, &str, u64),
    anew: bool,
    size: &mut Size,
    out: &Path,
) -> Result<DepositedFile, Error> {
    let from = table.part_file(folder, source, part);
    let target = table.part_file(out, source, part);
    fs::create_dir_all(target.parent().unwrap_or(out)).map_err(TablesError::write(&target))?;
    let has_names = describe(table)
        .columns
        .iter()
        .any(|column| column.name == FILE);
    if anew && has_names {
        without_folders(table, &from, &target)?;
    } else if fs::hard_link(&from, &target).is_err() {
        fs::copy(&from, &target).map_err(TablesError::write(&target))?;
    }
    let (bytes, sha256) = hashed(&Input::File(target))?;
    size.bytes = bytes;
    let path = table.part_file(Path::new(""), source, part);
    let names = path.iter().map(|name| name.to_string_lossy());
    Ok(DepositedFile {
        table,
        source: source.to_owned(),
        part,
        path: names.collect::<Vec<_>>().join("/"),
        bytes,
        rows: size.rows,
        sha256,
    })
}

/// Writes a file of a table anew, row group by row group, with the names of archives alone.
fn without_folders(table: Table, from: &Path, target: &Path) -> Result<(), TablesError> {
    let parquet = TablesError::parquet(from);
    let written = || TablesError::writer(target);
    let layout = Layout::new(describe(table)).map_err(TablesError::Encode)?;
    let options = ArrowWriterOptions::new()
        .with_properties(layout.properties().as_ref().clone())
        .with_skip_arrow_metadata(true);
    let sink = File::create(target).map_err(TablesError::write(target))?;
    let mut writer = ArrowWriter::try_new_with_options(sink, layout.arrow().clone(), options)
        .map_err(written())?;
    let open = || {
        let file = File::open(from).map_err(TablesError::read(from))?;
        ParquetRecordBatchReaderBuilder::try_new(file).map_err(&parquet)
    };
    for group in 0..open()?.metadata().num_row_groups() {
        let reader = open()?.with_row_groups(vec![group]).build();
        for batch in reader.map_err(&parquet)? {
            let batch = batch.map_err(|error| parquet(error.into()))?;
            let batch = with_file_names(&batch).map_err(|error| parquet(error.into()))?;
            writer.write(&batch).map_err(written())?;
        }
        writer.flush().map_err(written())?;
    }
    writer.close().map_err(written())?;
    Ok(())
}

/// The rows, with the last part of each path in the column of archives.
fn with_file_names(batch: &RecordBatch) -> Result<RecordBatch, arrow_schema::ArrowError> {
    let schema = batch.schema();
    let place = schema.index_of(FILE)?;
    let names = batch.column(place);
    let Some(names) = names.as_any().downcast_ref::<StringArray>() else {
        return Ok(batch.clone());
    };
    let names: StringArray = names.iter().map(|name| name.map(file_name)).collect();
    let mut columns: Vec<ArrayRef> = batch.columns().to_vec();
    columns[place] = Arc::new(names);
    RecordBatch::try_new(schema, columns)
}
