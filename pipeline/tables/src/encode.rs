//! Rows turned into Parquet row groups, on the workers; appended to files elsewhere.

use std::io::Write;
use std::sync::Arc;

use arrow_schema::{Field, Schema, SchemaRef};
use hobble_terms::Table;
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
        let schema = crate::schema::description(table);
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
    use arrow_array::cast::AsArray;
    use arrow_array::types::{Float32Type, Int16Type, UInt8Type, UInt16Type, UInt32Type};
    use arrow_array::{Array, RecordBatch};
    use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

    use super::*;
    use crate::column::{Codes, Flags, Fractions, MaybeFlags, MaybeNumbers, Numbers};
    use crate::exposure::CubeColumns;
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
            (Table::Exposure, CubeColumns::default().columns()),
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

    fn layout(columns: &Columns<'_>) -> Layout {
        let fields = columns.columns.iter().map(|(name, column)| {
            let nullable = column.is_nullable().unwrap_or(true);
            Field::new(name, column.data_type(), nullable)
        });
        let arrow = Schema::new(fields.collect::<Vec<_>>());
        Layout {
            table: Table::Moves,
            parquet: ArrowSchemaConverter::new().convert(&arrow).unwrap(),
            arrow: Arc::new(arrow),
            properties: Arc::new(WriterProperties::new()),
        }
    }

    /// What the library's own reader makes of columns.
    fn read_back(columns: Columns<'_>) -> RecordBatch {
        let rows = columns.rows;
        let layout = layout(&columns);
        let mut encoder = Encoder::default();
        let group = layout.encode(columns, &mut encoder).unwrap().unwrap();
        let mut file = layout.open(Vec::new()).unwrap();
        group.append(&mut file).unwrap();
        let file = bytes::Bytes::from(file.into_inner().unwrap());
        let reader = ParquetRecordBatchReaderBuilder::try_new(file)
            .and_then(|builder| builder.with_batch_size(rows).build());
        reader.unwrap().next().unwrap().unwrap()
    }

    #[test]
    fn what_is_coded_is_read_back() {
        // More than a page, and no whole number of eights.
        let rows = 70_003_u32;
        // Places of every width, the widest ones on one page only; the second page without nulls.
        let known = |n: u32| n >= 1 << 16 || n % 3 != 1;
        let maybe = |n: u32| known(n).then_some((n % 700) as i16 - 300);
        let byte = |n: u32, top: u32| (n.wrapping_mul(2_654_435_761) >> 8) % (top + 1);
        let bytes = [0, 1, 3, 14, 200];
        let wide = |n: u32| if n < 9 { 65_535 } else { (n % 250) as u16 };
        let words = ["", "b", "aa", "c"];
        let word = |n: u32| known(n).then_some(1 + (n / 5 % 2) as u8);
        let truth = |n: u32| n % 7 == 2;
        let clock = |n: u32| known(n).then_some(f32::from((n % 400) as u16) / 10.0);

        let mut numbers = bytes.map(|_| Numbers::<u8>::default());
        for (column, top) in numbers.iter_mut().zip(bytes) {
            column.extend((0..rows).map(|n| byte(n, top) as u8));
        }
        let mut shorts = Numbers::<u16>::default();
        shorts.extend((0..rows).map(wide));
        let mut long = Numbers::<u32>::default();
        long.extend((0..rows).map(|n| n + 4_000_000_000));
        let mut same = Numbers::<u32>::default();
        same.fill(7, rows as usize);
        let mut maybes = MaybeNumbers::<i16>::default();
        maybes.extend((0..rows).map(maybe));
        let mut nothing = MaybeNumbers::<u8>::default();
        nothing.extend((0..rows).map(|_| None));
        let mut codes = Codes::of(words);
        codes.extend_maybe((0..rows).map(word));
        let mut flags = Flags::default();
        flags.extend((0..rows).map(truth));
        let mut maybe_flags = MaybeFlags::default();
        maybe_flags.extend((0..rows).map(|n| known(n).then_some(truth(n))));
        let mut tenths = Fractions::default();
        tenths.extend((0..rows).map(clock));
        let mut odd = Fractions::default();
        odd.extend((0..rows).map(|n| known(n).then_some(0.1234)));

        let mut columns = Columns::new(rows as usize);
        for (column, top) in numbers.iter_mut().zip(bytes) {
            columns.add(&format!("up to {top}"), column);
        }
        columns.add("shorts", &mut shorts);
        columns.add("long", &mut long);
        columns.add("same", &mut same);
        columns.add("maybes", &mut maybes);
        columns.add("nothing", &mut nothing);
        columns.add("codes", &mut codes);
        columns.add("flags", &mut flags);
        columns.add("maybe_flags", &mut maybe_flags);
        columns.add("tenths", &mut tenths);
        columns.add("odd", &mut odd);
        let read = read_back(columns);

        let of = |name: &str| read.column_by_name(name).unwrap();
        for top in bytes {
            let column = of(&format!("up to {top}")).as_primitive::<UInt8Type>();
            assert!(
                column
                    .values()
                    .iter()
                    .zip(0..)
                    .all(|(&value, n)| u32::from(value) == byte(n, top))
            );
        }
        let all = || 0..rows;
        assert!(
            of("shorts")
                .as_primitive::<UInt16Type>()
                .iter()
                .eq(all().map(|n| Some(wide(n))))
        );
        let long = of("long").as_primitive::<UInt32Type>();
        assert!(long.iter().eq(all().map(|n| Some(n + 4_000_000_000))));
        assert!(
            of("same")
                .as_primitive::<UInt32Type>()
                .iter()
                .eq(all().map(|_| Some(7)))
        );
        assert!(
            of("maybes")
                .as_primitive::<Int16Type>()
                .iter()
                .eq(all().map(maybe))
        );
        assert_eq!(of("nothing").null_count(), rows as usize);
        let codes = of("codes").as_string::<i32>();
        assert!(
            codes
                .iter()
                .eq(all().map(|n| word(n).map(|code| words[usize::from(code)])))
        );
        assert!(
            of("flags")
                .as_boolean()
                .iter()
                .eq(all().map(|n| Some(truth(n))))
        );
        let flags = of("maybe_flags").as_boolean();
        assert!(flags.iter().eq(all().map(|n| known(n).then_some(truth(n)))));
        assert!(
            of("tenths")
                .as_primitive::<Float32Type>()
                .iter()
                .eq(all().map(clock))
        );
        let odd = of("odd").as_primitive::<Float32Type>();
        assert!(odd.iter().eq(all().map(|n| known(n).then_some(0.1234))));
    }

    #[test]
    fn a_code_without_a_word_is_refused() {
        let mut codes = Codes::of(["one"]);
        codes.push(1);
        let mut columns = Columns::new(1);
        columns.add("codes", &mut codes);
        let layout = layout(&columns);
        assert!(layout.encode(columns, &mut Encoder::default()).is_err());
    }
}
