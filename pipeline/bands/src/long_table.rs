//! The long table: one row a cell, as CSV and as Parquet. Its columns are listed once.

use std::path::Path;
use std::sync::Arc;

use arrow_array::{
    ArrayRef, BooleanArray, Float64Array, RecordBatch, StringArray, UInt32Array, UInt64Array,
};
use arrow_schema::ArrowError;
use hobble_report::{Record, Value};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;

use super::answer::{BandCell, BandsAnswer};

/// What a column holds of a cell. Only figures may be missing.
enum Column {
    Text(for<'a> fn(&'a BandCell) -> &'a str),
    Long(fn(&BandCell) -> u64),
    MaybeLong(fn(&BandCell) -> Option<u64>),
    Short(fn(&BandCell) -> u32),
    Flag(fn(&BandCell) -> bool),
    Figure(fn(&BandCell) -> Option<f64>),
}

use Column::{Figure, Flag, Long, MaybeLong, Short, Text};

const COLUMNS: [(&str, Column); 19] = [
    ("measure", Text(|cell| cell.measure.name())),
    ("split", Text(|cell| cell.split.name())),
    ("level", Text(|cell| &cell.level)),
    ("kind", Text(|cell| &cell.kind)),
    ("estimate", Figure(|cell| cell.estimate)),
    ("low", Figure(|cell| cell.low)),
    ("high", Figure(|cell| cell.high)),
    ("n", Long(|cell| cell.n)),
    ("folds", Short(|cell| cell.folds)),
    ("n_unit", Text(|cell| &cell.n_unit)),
    ("unit", Text(|cell| &cell.unit)),
    ("method", Text(|cell| &cell.method)),
    ("suppressed", Flag(|cell| cell.suppressed)),
    ("players", MaybeLong(|cell| cell.players)),
    ("largest_share", Figure(|cell| cell.largest_share)),
    ("covered", Figure(|cell| cell.covered)),
    ("against_all", Figure(|cell| cell.against_all)),
    ("p", Figure(|cell| cell.p)),
    ("p_holm", Figure(|cell| cell.p_holm)),
];

impl Column {
    fn value(&self, cell: &BandCell) -> Value {
        match self {
            Text(of) => Value::Text(of(cell).to_owned()),
            Long(of) => Value::Count(Some(of(cell))),
            MaybeLong(of) => Value::Count(of(cell)),
            Short(of) => Value::Count(Some(of(cell).into())),
            Flag(of) => Value::Flag(of(cell)),
            Figure(of) => Value::Figure(of(cell)),
        }
    }

    fn array(&self, cells: &[BandCell]) -> ArrayRef {
        let cells = cells.iter();
        match self {
            Text(of) => Arc::new(StringArray::from_iter_values(cells.map(of))),
            Long(of) => Arc::new(UInt64Array::from_iter_values(cells.map(of))),
            MaybeLong(of) => Arc::new(cells.map(of).collect::<UInt64Array>()),
            Short(of) => Arc::new(UInt32Array::from_iter_values(cells.map(of))),
            Flag(of) => Arc::new(BooleanArray::from_iter(cells.map(|cell| Some(of(cell))))),
            Figure(of) => Arc::new(cells.map(of).collect::<Float64Array>()),
        }
    }
}

/// A cell as a row of the CSV.
pub(crate) fn record(cell: &BandCell) -> Record {
    let mut out = Record::default();
    for (name, column) in &COLUMNS {
        out.put(*name, column.value(cell));
    }
    out
}

/// Writes the long table as Parquet; a file that is there is replaced once the new one is whole.
///
/// # Errors
///
/// Where the file cannot be written.
pub fn write_parquet(answer: &BandsAnswer, path: &Path) -> std::io::Result<()> {
    let other = std::io::Error::other;
    let cells = batch(&answer.cells).map_err(other)?;
    let properties = WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .build();
    hobble_report::replace_file(path, |file| {
        let mut writer = ArrowWriter::try_new(file, cells.schema(), Some(properties))?;
        writer.write(&cells)?;
        writer.close()?;
        Ok(())
    })
}

fn batch(cells: &[BandCell]) -> Result<RecordBatch, ArrowError> {
    RecordBatch::try_from_iter_with_nullable(COLUMNS.iter().map(|(name, column)| {
        let nullable = matches!(column, Figure(_) | MaybeLong(_));
        (*name, column.array(cells), nullable)
    }))
}
