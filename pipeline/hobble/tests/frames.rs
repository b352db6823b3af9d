//! Frames of a scan's row tables hold what the files hold: every row of every column, counted and
//! added up beside a plain reading of the files.

mod common;

use arrow_array::cast::AsArray as _;
use arrow_array::types::{Float32Type, Int8Type, Int16Type, Int32Type, Int64Type, UInt64Type};
use arrow_array::{Array as _, ArrayRef};
use arrow_schema::DataType as FileType;
use common::{repository, scan, table};
use hobble_dataset::Dataset;
use hobble_dataset::frame::collect;
use hobble_tables::schema::describe;
use hobble_terms::Table;
use polars::prelude::{Column, DataType};

/// Values of a file's column that are not null, and their sum; of texts that of their lengths.
fn in_file(column: &ArrayRef) -> (usize, f64) {
    macro_rules! sum {
        ($of:ty) => {{
            let values = column.as_primitive::<$of>().iter().flatten();
            values.map(|value| value as f64).sum()
        }};
    }
    let sum = match column.data_type() {
        FileType::Int64 => sum!(Int64Type),
        FileType::UInt64 => sum!(UInt64Type),
        FileType::Int8 => sum!(Int8Type),
        FileType::Int16 => sum!(Int16Type),
        FileType::Int32 => sum!(Int32Type),
        FileType::Float32 => sum!(Float32Type),
        FileType::Boolean => column.as_boolean().true_count() as f64,
        FileType::Utf8 => {
            let texts = column.as_string::<i32>().iter().flatten();
            texts.map(|text| text.len() as f64).sum()
        }
        other => panic!("no column of {other} is known"),
    };
    (column.len() - column.null_count(), sum)
}

/// The same of a frame's column.
fn in_frame(column: &Column) -> (usize, f64) {
    let sum = match column.dtype() {
        DataType::String => {
            let texts = column.str().unwrap().iter().flatten();
            texts.map(|text| text.len() as f64).sum()
        }
        _ => {
            let wide = column.cast(&DataType::Float64).unwrap();
            wide.f64().unwrap().iter().flatten().sum()
        }
    };
    (column.len() - column.null_count(), sum)
}

#[test]
fn row_tables_as_their_files() {
    let dir = tempfile::tempdir().unwrap();
    let season = repository("small-sample/season.pgn");
    scan(&[&season], dir.path(), &["--threads", "2"]);
    let dataset = Dataset::open(dir.path()).unwrap();
    for of in [
        Table::Games,
        Table::Moves,
        Table::Spells,
        Table::Turns,
        Table::Decisions,
        Table::Sides,
    ] {
        let frame = collect(dataset.frame(of).unwrap()).unwrap();
        let rows = table(dir.path(), of.name());
        assert!(rows.num_rows() > 100, "{of}: {} rows", rows.num_rows());
        assert_eq!(frame.height(), rows.num_rows(), "{of}");
        // Beside the source what follows from the columns of the file.
        let derived = describe(of).derived.len();
        assert_eq!(frame.width(), rows.num_columns() + derived + 1, "{of}");
        for (field, column) in rows.schema().fields().iter().zip(rows.columns()) {
            let name = field.name().as_str();
            let got = in_frame(frame.column(name).unwrap());
            assert_eq!(got, in_file(column), "{of}.{name}");
        }
    }
}
