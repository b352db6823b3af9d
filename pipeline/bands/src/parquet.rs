//! The long table as Parquet, a column each as in the CSV.

use std::path::Path;
use std::sync::Arc;

use arrow_array::{
    ArrayRef, BooleanArray, Float64Array, RecordBatch, StringArray, UInt32Array, UInt64Array,
};
use arrow_schema::ArrowError;
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;

use super::answer::{BandCell, BandsAnswer};

/// Writes the long table; a file that is there is replaced once the new one is whole.
///
/// # Errors
///
/// Where the file cannot be written.
pub fn write_parquet(answer: &BandsAnswer, path: &Path) -> std::io::Result<()> {
    let other = std::io::Error::other;
    let cells = columns(answer).map_err(other)?;
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

fn columns(answer: &BandsAnswer) -> Result<RecordBatch, ArrowError> {
    let cells = &answer.cells;
    let text = |of: &dyn Fn(&BandCell) -> String| -> ArrayRef {
        Arc::new(StringArray::from_iter_values(cells.iter().map(of)))
    };
    let figure = |of: fn(&BandCell) -> Option<f64>| -> ArrayRef {
        Arc::new(cells.iter().map(of).collect::<Float64Array>())
    };
    let n = UInt64Array::from_iter_values(cells.iter().map(|cell| cell.n));
    let folds = UInt32Array::from_iter_values(cells.iter().map(|cell| cell.folds));
    let suppressed: Vec<bool> = cells.iter().map(|cell| cell.suppressed).collect();
    RecordBatch::try_from_iter_with_nullable([
        ("measure", text(&|cell| cell.measure.to_string()), false),
        ("split", text(&|cell| cell.split.to_string()), false),
        ("level", text(&|cell| cell.level.clone()), false),
        ("kind", text(&|cell| cell.kind.clone()), false),
        ("estimate", figure(|cell| cell.estimate), true),
        ("low", figure(|cell| cell.low), true),
        ("high", figure(|cell| cell.high), true),
        ("n", Arc::new(n), false),
        ("folds", Arc::new(folds), false),
        ("n_unit", text(&|cell| cell.n_unit.clone()), false),
        ("unit", text(&|cell| cell.unit.clone()), false),
        ("method", text(&|cell| cell.method.clone()), false),
        (
            "suppressed",
            Arc::new(BooleanArray::from(suppressed)),
            false,
        ),
        ("covered", figure(|cell| cell.covered), true),
        ("against_all", figure(|cell| cell.against_all), true),
        ("p", figure(|cell| cell.p), true),
        ("p_holm", figure(|cell| cell.p_holm), true),
    ])
}
