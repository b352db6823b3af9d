//! The long table: one row a cell, as CSV and as Parquet. Its columns are listed once.

use std::path::Path;
use std::sync::Arc;

use arrow_array::types::Int32Type;
use arrow_array::{
    ArrayRef, BooleanArray, DictionaryArray, Float64Array, Int32Array, Int64Array, RecordBatch,
};
use arrow_schema::ArrowError;
use hobble_report::columns::{ColumnText, NEVER};
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

/// A column: name, unit, what an empty cell means, text, and value.
struct Declared(
    &'static str,
    &'static str,
    &'static str,
    &'static str,
    Column,
);

/// Where a figure is missing.
const HIDDEN: &str = "suppressed, or no denominator";
const NO_INTERVAL: &str = "suppressed, or no interval: `method` says why";
const NO_PLAYERS: &str = "no figure from the table `sides`";
const NOT_TESTED: &str = "the row of all, or not tested";

const COLUMNS: [Declared; 19] = [
    Declared(
        "measure",
        "",
        NEVER,
        "What is measured.",
        Text(|cell| cell.measure.name()),
    ),
    Declared(
        "split",
        "",
        NEVER,
        "What the games are split by; `all` for no split.",
        Text(|cell| cell.split.name()),
    ),
    Declared(
        "level",
        "",
        NEVER,
        "Which level of the split.",
        Text(|cell| &cell.level),
    ),
    Declared(
        "kind",
        "",
        NEVER,
        "Kind of piece, or `all`; of squares taken the kind that moved.",
        Text(|cell| &cell.kind),
    ),
    Declared(
        "estimate",
        "as `unit` says",
        HIDDEN,
        "The figure.",
        Figure(|cell| cell.estimate),
    ),
    Declared(
        "low",
        "as `unit` says",
        NO_INTERVAL,
        "Lower bound of the 95% interval of `estimate`.",
        Figure(|cell| cell.low),
    ),
    Declared(
        "high",
        "as `unit` says",
        NO_INTERVAL,
        "Upper bound of the 95% interval of `estimate`.",
        Figure(|cell| cell.high),
    ),
    Declared(
        "n",
        "as `n_unit` says",
        NEVER,
        "Denominator of the figure.",
        Long(|cell| cell.n),
    ),
    Declared(
        "folds",
        "folds",
        NEVER,
        "Folds of games with anything in the denominator.",
        Short(|cell| cell.folds),
    ),
    Declared(
        "n_unit",
        "",
        NEVER,
        "What `n` counts.",
        Text(|cell| &cell.n_unit),
    ),
    Declared(
        "unit",
        "",
        NEVER,
        "Unit of the figure.",
        Text(|cell| &cell.unit),
    ),
    Declared(
        "method",
        "",
        NEVER,
        "How figure and interval were made; why there is no interval.",
        Text(|cell| &cell.method),
    ),
    Declared(
        "suppressed",
        "",
        NEVER,
        "Whether the cell has too few and is not shown.",
        Flag(|cell| cell.suppressed),
    ),
    Declared(
        "players",
        "players",
        NO_PLAYERS,
        "Players named in the cell, by their keys.",
        MaybeLong(|cell| cell.players),
    ),
    Declared(
        "largest_share",
        "share",
        NO_PLAYERS,
        "Largest share of the denominator that one of them has.",
        Figure(|cell| cell.largest_share),
    ),
    Declared(
        "covered",
        "share",
        "figure not standardised",
        "Share of the standard population in strata the cell has.",
        Figure(|cell| cell.covered),
    ),
    Declared(
        "against_all",
        "ratio",
        NOT_TESTED,
        "The figure over that of all levels: a ratio, of odds where the figure is a share.",
        Figure(|cell| cell.against_all),
    ),
    Declared(
        "p",
        "probability",
        NOT_TESTED,
        "Two-sided p-value of that ratio being 1.",
        Figure(|cell| cell.p),
    ),
    Declared(
        "p_holm",
        "probability",
        NOT_TESTED,
        "The same, adjusted for all tests of the report by Holm's method.",
        Figure(|cell| cell.p_holm),
    ),
];

/// The columns there are.
pub(crate) fn texts() -> Vec<ColumnText> {
    let text = |Declared(name, unit, empty, text, column): &Declared| ColumnText {
        name: (*name).to_owned(),
        column_type: match column {
            Text(_) => "text",
            Long(_) | MaybeLong(_) | Short(_) => "count",
            Flag(_) => "flag",
            Figure(_) => "figure",
        },
        unit,
        empty,
        text: (*text).to_owned(),
    };
    COLUMNS.iter().map(text).collect()
}

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
            Text(of) => Arc::new(cells.map(of).collect::<DictionaryArray<Int32Type>>()),
            Long(of) => Arc::new(Int64Array::from_iter_values(
                cells.map(|cell| of(cell) as i64),
            )),
            MaybeLong(of) => Arc::new(
                cells
                    .map(|cell| Some(of(cell)? as i64))
                    .collect::<Int64Array>(),
            ),
            Short(of) => Arc::new(Int32Array::from_iter_values(
                cells.map(|cell| of(cell) as i32),
            )),
            Flag(of) => Arc::new(BooleanArray::from_iter(cells.map(|cell| Some(of(cell))))),
            Figure(of) => Arc::new(cells.map(of).collect::<Float64Array>()),
        }
    }
}

/// A cell as a row of the CSV.
pub(crate) fn record(cell: &BandCell) -> Record {
    let mut out = Record::default();
    for Declared(name, _, _, _, column) in &COLUMNS {
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
    RecordBatch::try_from_iter_with_nullable(COLUMNS.iter().map(
        |Declared(name, _, _, _, column)| {
            let nullable = matches!(column, Figure(_) | MaybeLong(_));
            (*name, column.array(cells), nullable)
        },
    ))
}
