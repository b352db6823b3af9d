//! Rows turned into Parquet row groups, on the workers; appended to files elsewhere.

use std::io::Write;
use std::sync::Arc;

use arrow_array::ArrayRef;
use arrow_schema::{Field, Schema, SchemaRef};
use bytes::Bytes;
use parquet::arrow::ArrowSchemaConverter;
use parquet::arrow::arrow_writer::{ArrowColumnChunk, ArrowRowGroupWriterFactory, compute_leaves};
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::{EnabledStatistics, WriterProperties, WriterPropertiesPtr};
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::ColumnPath;
use zstd::bulk::Compressor;

use crate::coded::{self, CodedChunk};
use crate::column::Finish;
use crate::schema::Table;

/// Level of compression: higher ones cost much and gain little on columns of codes.
const ZSTD_LEVEL: i32 = 1;

/// Arrays of a block of rows, with their names.
pub struct Columns {
    rows: usize,
    names: Vec<String>,
    arrays: Vec<ArrayRef>,
}

impl Columns {
    /// No columns yet, for a number of rows.
    pub fn new(rows: usize) -> Columns {
        Columns {
            rows,
            names: Vec::new(),
            arrays: Vec::new(),
        }
    }

    /// Adds a grown column.
    pub fn add(&mut self, name: &str, column: &mut impl Finish) {
        self.names.push(name.to_owned());
        self.arrays.push(column.finish());
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Names and arrays in order.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &ArrayRef)> {
        self.names.iter().map(String::as_str).zip(&self.arrays)
    }
}

/// How a table is written: the same for all its files.
pub struct Layout {
    table: Table,
    arrow: SchemaRef,
    properties: WriterPropertiesPtr,
}

impl Layout {
    /// Layout of a table whose columns come as in `sample`.
    ///
    /// # Errors
    ///
    /// Where a column does not agree with the schema file.
    pub fn new(table: Table, sample: &Columns) -> Result<Layout> {
        let schema = table.description();
        let mut fields = Vec::with_capacity(schema.columns.len());
        if sample.names.len() != schema.columns.len() {
            return Err(mismatch(table, "number of columns"));
        }
        for ((name, array), column) in sample.iter().zip(&schema.columns) {
            let data = array.data_type();
            if name != column.name || !column.holds(data) {
                return Err(mismatch(table, name));
            }
            fields.push(Field::new(name, data.clone(), column.is_nullable()));
        }
        let pair = |key: &str, value: String| KeyValue::new(key.to_owned(), value);
        let mut properties = WriterProperties::builder()
            .set_created_by(concat!("hobble ", env!("CARGO_PKG_VERSION")).to_owned())
            .set_compression(Compression::ZSTD(ZstdLevel::try_new(ZSTD_LEVEL)?))
            .set_statistics_enabled(EnabledStatistics::Chunk)
            // Coded columns have none, and half an index helps nobody.
            .set_offset_index_disabled(true)
            .set_key_value_metadata(Some(vec![
                pair("hobble.version", env!("CARGO_PKG_VERSION").to_owned()),
                pair("hobble.schema", schema.schema.to_string()),
                pair("hobble.definitions", schema.definitions.to_string()),
            ]));
        // Numbers that go up by a step: differences are almost nothing, a dictionary is not.
        for name in ["game", "ply", "offset", "line"] {
            if sample.names.iter().any(|column| column == name) {
                let path = ColumnPath::from(name);
                properties = properties
                    .set_column_dictionary_enabled(path.clone(), false)
                    .set_column_encoding(path, Encoding::DELTA_BINARY_PACKED);
            }
        }
        for name in ["game_id", "moves_id"] {
            properties = properties.set_column_dictionary_enabled(ColumnPath::from(name), false);
        }
        Ok(Layout {
            table,
            arrow: Arc::new(Schema::new(fields)),
            properties: Arc::new(properties.build()),
        })
    }

    /// The table.
    pub fn table(&self) -> Table {
        self.table
    }

    /// Opens a file of the table.
    ///
    /// # Errors
    ///
    /// What the writer says.
    pub fn open<W: Write + Send>(&self, sink: W) -> Result<SerializedFileWriter<W>> {
        let parquet = ArrowSchemaConverter::new().convert(&self.arrow)?;
        SerializedFileWriter::new(sink, parquet.root_schema_ptr(), self.properties.clone())
    }

    /// Encodes rows as one row group; `None` where there are no rows.
    ///
    /// # Errors
    ///
    /// What the encoders say.
    pub fn encode(&self, columns: &Columns) -> Result<Option<EncodedGroup>> {
        if columns.rows() == 0 {
            return Ok(None);
        }
        // The factory wants a file, to take schema and properties from.
        let file = self.open(std::io::sink())?;
        let factory = ArrowRowGroupWriterFactory::new(&file, self.arrow.clone());
        let writers = factory.create_column_writers(0)?;
        let mut chunks = Vec::with_capacity(writers.len());
        let parquet = file.schema_descr();
        let level = ZstdLevel::try_new(ZSTD_LEVEL)?;
        let mut compressor =
            Compressor::new(ZSTD_LEVEL).map_err(|error| ParquetError::External(Box::new(error)))?;
        for (((mut writer, field), (_, array)), column) in writers
            .into_iter()
            .zip(self.arrow.fields())
            .zip(columns.iter())
            .zip(parquet.columns())
        {
            if coded::takes(array.data_type()) {
                let compression = Compression::ZSTD(level);
                let chunk = coded::encode(array, column, compression, &mut compressor)?;
                chunks.push(Chunk::Coded(Box::new(chunk)));
                continue;
            }
            for leaf in compute_leaves(field, array)? {
                writer.write(&leaf)?;
            }
            chunks.push(Chunk::General(Box::new(writer.close()?)));
        }
        Ok(Some(EncodedGroup {
            rows: columns.rows() as u64,
            chunks,
        }))
    }
}

fn mismatch(table: Table, what: &str) -> ParquetError {
    ParquetError::General(format!(
        "table {}: {what} does not agree with schemas/{}.json",
        table.name(),
        table.name()
    ))
}

/// A row group ready to be appended.
pub struct EncodedGroup {
    rows: u64,
    chunks: Vec<Chunk>,
}

/// A column of a row group.
enum Chunk {
    /// Few different values.
    Coded(Box<CodedChunk>),
    /// All else.
    General(Box<ArrowColumnChunk>),
}

impl EncodedGroup {
    /// Number of rows.
    pub fn rows(&self) -> u64 {
        self.rows
    }

    /// Appends the group to a file.
    ///
    /// # Errors
    ///
    /// What the writer says.
    pub fn append<W: Write + Send>(self, file: &mut SerializedFileWriter<W>) -> Result<()> {
        let mut group = file.next_row_group()?;
        for chunk in self.chunks {
            match chunk {
                Chunk::Coded(chunk) => {
                    group.append_column(&Bytes::from(chunk.pages), chunk.close)?;
                }
                Chunk::General(chunk) => chunk.append_to_row_group(&mut group)?,
            }
        }
        group.close()?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exposure::Cube;
    use crate::games::GameColumns;
    use crate::moves::MoveColumns;
    use crate::skipped::SkippedColumns;
    use crate::spells::SpellColumns;

    #[test]
    fn every_table_is_written_as_its_schema_says() {
        for (table, columns) in [
            (Table::Games, GameColumns::default().finish()),
            (Table::Moves, MoveColumns::default().finish()),
            (Table::Spells, SpellColumns::new(200).finish()),
            (Table::Exposure, Cube::default().columns(200)),
            (Table::Skipped, SkippedColumns::default().finish()),
        ] {
            Layout::new(table, &columns).unwrap();
        }
    }

    #[test]
    fn a_wrong_column_is_refused() {
        let columns = SkippedColumns::default().finish();
        assert!(Layout::new(Table::Games, &columns).is_err());
    }
}
