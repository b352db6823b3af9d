//! Rows of a table's file, read batch by batch.

use std::fs::File;
use std::path::Path;

use arrow_array::RecordBatch;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{ArrowReaderOptions, ParquetRecordBatchReaderBuilder};

use crate::column::{Column, Value};
use crate::error::Error;

/// Rows read at once.
const BATCH: usize = 1 << 16;

/// Some rows of a file.
pub(crate) struct Rows<'a> {
    path: &'a Path,
    batch: RecordBatch,
}

impl Rows<'_> {
    /// Number of rows.
    pub fn len(&self) -> usize {
        self.batch.num_rows()
    }

    /// The values of a column, which must be among those asked for.
    pub fn read<T: Value>(&self, column: Column<T>) -> Result<&T::Array, Error> {
        column.of(&self.batch).ok_or_else(|| Error::Column {
            path: self.path.to_owned(),
            table: column.table(),
            column: column.name(),
        })
    }

    /// The error of an invalid value.
    pub fn invalid<T>(&self, column: Column<T>, value: &str) -> Error {
        Error::Value {
            path: self.path.to_owned(),
            column: column.name(),
            value: value.to_owned(),
        }
    }
}

/// Reads columns of a table's file, batch by batch; returns the number of rows.
pub(crate) fn read(
    path: &Path,
    columns: &[&str],
    mut on_rows: impl FnMut(&Rows<'_>) -> Result<(), Error>,
) -> Result<u64, Error> {
    let file = File::open(path).map_err(Error::read(path))?;
    let parquet = Error::parquet(path);
    // Words as texts.
    let options = ArrowReaderOptions::new().with_skip_arrow_metadata(true);
    let builder = ParquetRecordBatchReaderBuilder::try_new_with_options(file, options);
    let builder = builder.map_err(&parquet)?;
    let groups = builder.metadata().row_groups().iter();
    let count = groups.map(|group| group.num_rows() as u64).sum();
    let mask = ProjectionMask::columns(builder.parquet_schema(), columns.iter().copied());
    let reader = builder
        .with_projection(mask)
        .with_batch_size(BATCH)
        .build()
        .map_err(&parquet)?;
    for batch in reader {
        let batch = batch.map_err(|error| parquet(error.into()))?;
        on_rows(&Rows { path, batch })?;
    }
    Ok(count)
}
