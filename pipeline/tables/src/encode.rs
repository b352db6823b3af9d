//! Rows turned into Parquet row groups, on the workers; appended to files elsewhere.

use std::io::Write;
use std::ops::Range;
use std::sync::Arc;

use arrow_schema::{Field, Schema, SchemaRef};
use hobble_terms::Table;
use parquet::arrow::arrow_writer::{
    ArrowColumnChunk, ArrowColumnWriter, ArrowRowGroupWriterFactory, compute_leaves,
};
use parquet::arrow::{ArrowSchemaConverter, add_encoded_arrow_schema_to_metadata};
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::{EnabledStatistics, WriterProperties, WriterPropertiesPtr};
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::{ColumnPath, SchemaDescriptor};

use crate::coded_pages::{CodedChunk, Encoder, ZSTD_LEVEL};
use crate::description::{ColumnDescription, Storage, TableDescription};
use crate::growing::{Growing, Rows};

/// The growing columns of a table, in the order of its declaration.
#[derive(Default)]
pub struct Columns<'a>(Vec<&'a mut dyn Growing>);

impl<'a> Columns<'a> {
    /// Adds a column.
    pub fn add(&mut self, column: &'a mut dyn Growing) {
        self.0.push(column);
    }

    /// Keeps only the rows in these ranges, in their order.
    pub fn keep(&mut self, ranges: &[Range<usize>]) {
        self.0.iter_mut().for_each(|column| column.keep(ranges));
    }

    /// Empties the columns.
    pub fn clear(&mut self) {
        self.0.iter_mut().for_each(|column| column.clear());
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
    /// Layout of a table.
    ///
    /// # Errors
    ///
    /// Where a type has no place in Parquet.
    pub fn new(table: &TableDescription) -> Result<Layout> {
        let pair = |key: &str, value: String| KeyValue::new(key.to_owned(), value);
        let mut properties = WriterProperties::builder()
            .set_created_by(concat!("hobble ", env!("CARGO_PKG_VERSION")).to_owned())
            .set_compression(Compression::ZSTD(ZstdLevel::try_new(ZSTD_LEVEL)?))
            .set_statistics_enabled(EnabledStatistics::Chunk)
            // Coded columns have none, and an index of some columns is of no use.
            .set_offset_index_disabled(true)
            .set_key_value_metadata(Some(vec![
                pair("hobble.version", env!("CARGO_PKG_VERSION").to_owned()),
                pair("hobble.schema", table.schema.to_string()),
                pair("hobble.definitions", table.definitions.to_string()),
            ]));
        for column in &table.columns {
            let path = ColumnPath::from(column.name);
            match column.storage {
                Storage::Dictionary => {}
                Storage::Plain => {
                    properties = properties.set_column_dictionary_enabled(path, false);
                }
                // Differences of rising numbers take a few bits, their dictionary many bytes.
                Storage::Differences => {
                    properties = properties
                        .set_column_dictionary_enabled(path.clone(), false)
                        .set_column_encoding(path, Encoding::DELTA_BINARY_PACKED);
                }
            }
        }
        let field = |column: &ColumnDescription| {
            let data = column.column_type.arrow();
            Field::new(column.name, data, column.is_nullable())
        };
        let arrow = Schema::new(table.columns.iter().map(field).collect::<Vec<_>>());
        let mut properties = properties.build();
        // Parquet itself knows texts alone: this says which of them are words out of a list.
        add_encoded_arrow_schema_to_metadata(&arrow, &mut properties);
        Ok(Layout {
            table: table.table,
            parquet: ArrowSchemaConverter::new().convert(&arrow)?,
            arrow: Arc::new(arrow),
            properties: Arc::new(properties),
        })
    }

    /// The columns as Arrow names them.
    pub fn arrow(&self) -> &SchemaRef {
        &self.arrow
    }

    /// How files of the table are written by the general Parquet writer.
    pub fn properties(&self) -> &WriterPropertiesPtr {
        &self.properties
    }

    /// Opens a file of the table.
    ///
    /// # Errors
    ///
    /// Where the writer fails.
    pub fn open<W: Write + Send>(&self, sink: W) -> Result<SerializedFileWriter<W>> {
        let root = self.parquet.root_schema_ptr();
        SerializedFileWriter::new(sink, root, self.properties.clone())
    }

    /// Encodes rows as one row group and empties the columns; `None` where there are no rows.
    ///
    /// # Errors
    ///
    /// Where a column was not filled, or an encoder fails.
    pub fn encode(
        &self,
        mut columns: Columns<'_>,
        encoder: &mut Encoder,
    ) -> Result<Option<EncodedGroup>> {
        let Some(row_count) = self.row_count(&columns)? else {
            return Ok(None);
        };
        let rows: Vec<_> = columns.0.iter_mut().map(|column| column.rows()).collect();
        let places = rows.iter().enumerate();
        let general = places.filter(|(_, rows)| matches!(rows, Rows::Array(_)));
        let mut writers = self.writers(general.map(|(place, _)| place))?.into_iter();
        let mut chunks = Vec::with_capacity(rows.len());
        for (place, rows) in rows.into_iter().enumerate() {
            chunks.push(match rows {
                Rows::Coded(values) => {
                    let chunk = encoder.encode(&values, &self.parquet.column(place))?;
                    Chunk::Coded(Box::new(chunk))
                }
                Rows::Array(array) => {
                    let missing = || ParquetError::General("a column lacks a writer".to_owned());
                    let mut writer = writers.next().ok_or_else(missing)?;
                    for leaf in compute_leaves(self.arrow.field(place), &array)? {
                        writer.write(&leaf)?;
                    }
                    Chunk::General(Box::new(writer.close()?))
                }
            });
        }
        columns.clear();
        Ok(Some(EncodedGroup {
            rows: row_count as u64,
            chunks,
        }))
    }

    /// Number of rows; `None` where there are none.
    ///
    /// # Errors
    ///
    /// Where a column has more or fewer rows than the first one, or is missing: it was declared
    /// but not filled.
    fn row_count(&self, columns: &Columns<'_>) -> Result<Option<usize>> {
        let count = columns.0.first().map_or(0, |column| column.row_count());
        for (place, field) in self.arrow.fields().iter().enumerate() {
            let found = columns.0.get(place).map(|column| column.row_count());
            if found != Some(count) {
                return Err(ParquetError::General(format!(
                    "table {}: column {} has {} rows, the first column {count}",
                    self.table,
                    field.name(),
                    found.unwrap_or(0)
                )));
            }
        }
        Ok((count > 0).then_some(count))
    }

    /// The general writers of some columns, as if these were the whole table: a writer makes a compressor
    /// and an unpacker of its own, which is much for a column that does not need one.
    fn writers(&self, places: impl Iterator<Item = usize>) -> Result<Vec<ArrowColumnWriter>> {
        let fields: Vec<_> = places
            .map(|place| self.arrow.fields()[place].clone())
            .collect();
        if fields.is_empty() {
            return Ok(Vec::new());
        }
        let arrow = Arc::new(Schema::new(fields));
        let parquet = ArrowSchemaConverter::new().convert(&arrow)?;
        // The factory takes schema and properties from a file.
        let root = parquet.root_schema_ptr();
        let file = SerializedFileWriter::new(std::io::sink(), root, self.properties.clone())?;
        ArrowRowGroupWriterFactory::new(&file, arrow).create_column_writers(0)
    }
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
    /// All others.
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
    /// Where the writer fails.
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
