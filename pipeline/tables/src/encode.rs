//! Rows turned into Parquet row groups, on the workers; appended to files elsewhere.

use std::io::Write;
use std::sync::Arc;

use arrow_schema::{Field, Schema, SchemaRef};
use parquet::arrow::ArrowSchemaConverter;
use parquet::arrow::arrow_writer::{
    ArrowColumnChunk, ArrowColumnWriter, ArrowRowGroupWriterFactory, compute_leaves,
};
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::{EnabledStatistics, WriterProperties, WriterPropertiesPtr};
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::{ColumnPath, SchemaDescriptor};

use crate::coded::{CodedChunk, Encoder};
use crate::column::{Column, Rows};
use crate::schema::Table;

/// Level of compression: higher ones cost much and gain little on columns of codes.
pub(crate) const ZSTD_LEVEL: i32 = 1;

/// The grown columns of a table, with their names.
pub struct Columns<'a> {
    rows: usize,
    columns: Vec<(String, &'a mut dyn Column)>,
}

impl<'a> Columns<'a> {
    /// No columns yet, for a number of rows.
    pub fn new(rows: usize) -> Columns<'a> {
        Columns {
            rows,
            columns: Vec::new(),
        }
    }

    /// Adds a column.
    pub fn add(&mut self, name: &str, column: &'a mut dyn Column) {
        self.columns.push((name.to_owned(), column));
    }
}

/// How a table is written: the same for all its files.
pub struct Layout {
    table: Table,
    arrow: SchemaRef,
    parquet: SchemaDescriptor,
    properties: WriterPropertiesPtr,
}

impl Layout {
    /// Layout of a table whose columns come as in `sample`.
    ///
    /// # Errors
    ///
    /// Where a column does not agree with the schema file.
    pub fn new(table: Table, sample: &Columns<'_>) -> Result<Layout> {
        let schema = table.description();
        let mut fields = Vec::with_capacity(schema.columns.len());
        if sample.columns.len() != schema.columns.len() {
            return Err(mismatch(table, "number of columns"));
        }
        for ((name, grown), column) in sample.columns.iter().zip(&schema.columns) {
            let data = grown.data_type();
            let nullable = column.is_nullable();
            if *name != column.name
                || !column.holds(&data)
                || grown.is_nullable().is_some_and(|may| may != nullable)
            {
                return Err(mismatch(table, name));
            }
            fields.push(Field::new(name, data, nullable));
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
        for name in ["game", "offset", "line", "at_line"] {
            if sample.columns.iter().any(|(column, _)| column == name) {
                let path = ColumnPath::from(name);
                properties = properties
                    .set_column_dictionary_enabled(path.clone(), false)
                    .set_column_encoding(path, Encoding::DELTA_BINARY_PACKED);
            }
        }
        for name in ["game_id", "moves_id"] {
            properties = properties.set_column_dictionary_enabled(ColumnPath::from(name), false);
        }
        let arrow = Schema::new(fields);
        Ok(Layout {
            table,
            parquet: ArrowSchemaConverter::new().convert(&arrow)?,
            arrow: Arc::new(arrow),
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
        let root = self.parquet.root_schema_ptr();
        SerializedFileWriter::new(sink, root, self.properties.clone())
    }

    /// Encodes rows as one row group and empties the columns; `None` where there are no rows.
    ///
    /// # Errors
    ///
    /// What the encoders say.
    pub fn encode(
        &self,
        columns: Columns<'_>,
        encoder: &mut Encoder,
    ) -> Result<Option<EncodedGroup>> {
        if columns.rows == 0 {
            return Ok(None);
        }
        let number_of_rows = columns.rows as u64;
        let mut columns: Vec<_> = columns.columns.into_iter().map(|(_, own)| own).collect();
        let rows: Vec<_> = columns.iter_mut().map(|column| column.rows()).collect();
        let general = rows.iter().any(|rows| matches!(rows, Rows::Array(_)));
        let mut writers = if general {
            self.writers()?.into_iter()
        } else {
            Vec::new().into_iter()
        };
        let mut chunks = Vec::with_capacity(rows.len());
        for (place, rows) in rows.into_iter().enumerate() {
            let writer = writers.next();
            chunks.push(match rows {
                Rows::Coded(values) => {
                    let chunk = encoder.encode(&values, &self.parquet.column(place))?;
                    Chunk::Coded(Box::new(chunk))
                }
                Rows::Array(array) => {
                    let missing = || mismatch(self.table, "number of writers");
                    let mut writer = writer.ok_or_else(missing)?;
                    for leaf in compute_leaves(self.arrow.field(place), &array)? {
                        writer.write(&leaf)?;
                    }
                    Chunk::General(Box::new(writer.close()?))
                }
            });
        }
        columns.iter_mut().for_each(|column| column.clear());
        Ok(Some(EncodedGroup {
            rows: number_of_rows,
            chunks,
        }))
    }

    /// The general writers of all columns.
    fn writers(&self) -> Result<Vec<ArrowColumnWriter>> {
        // The factory wants a file, to take schema and properties from.
        let file = self.open(std::io::sink())?;
        ArrowRowGroupWriterFactory::new(&file, self.arrow.clone()).create_column_writers(0)
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
                    group.append_column(&chunk.pages, chunk.close)?;
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
            (Table::Games, GameColumns::default().columns()),
            (Table::Moves, MoveColumns::default().columns()),
            (Table::Spells, SpellColumns::new(200).columns()),
            (Table::Exposure, Cube::default().rows(200).columns()),
            (Table::Skipped, SkippedColumns::default().columns()),
        ] {
            Layout::new(table, &columns).unwrap();
        }
    }

    #[test]
    fn a_wrong_column_is_refused() {
        let mut skipped = SkippedColumns::default();
        assert!(Layout::new(Table::Games, &skipped.columns()).is_err());
    }
}
