//! The long table as Parquet, a column each as in the CSV.

use std::fs::File;
use std::path::Path;

use polars::prelude::*;

use super::answer::{BandCell, BandsAnswer};

/// Writes the long table; a file that is there is replaced once the new one is whole.
///
/// # Errors
///
/// Where the file cannot be written.
pub fn write_parquet(answer: &BandsAnswer, path: &Path) -> std::io::Result<()> {
    let mut frame = frame(answer).map_err(std::io::Error::other)?;
    let mut name = path.as_os_str().to_owned();
    name.push(".new");
    ParquetWriter::new(File::create(&name)?)
        .finish(&mut frame)
        .map_err(std::io::Error::other)?;
    std::fs::rename(&name, path)
}

fn frame(answer: &BandsAnswer) -> PolarsResult<DataFrame> {
    let cells = &answer.cells;
    let text = |name: &str, of: &dyn Fn(&BandCell) -> String| {
        Column::new(name.into(), cells.iter().map(of).collect::<Vec<_>>())
    };
    let figure = |name: &str, of: fn(&BandCell) -> Option<f64>| {
        Column::new(name.into(), cells.iter().map(of).collect::<Vec<_>>())
    };
    let columns = vec![
        text("measure", &|cell| cell.measure.to_string()),
        text("split", &|cell| cell.split.to_string()),
        text("level", &|cell| cell.level.clone()),
        text("kind", &|cell| cell.kind.clone()),
        figure("estimate", |cell| cell.estimate),
        figure("low", |cell| cell.low),
        figure("high", |cell| cell.high),
        Column::new(
            "n".into(),
            cells.iter().map(|cell| cell.n).collect::<Vec<_>>(),
        ),
        Column::new(
            "folds".into(),
            cells.iter().map(|cell| cell.folds).collect::<Vec<_>>(),
        ),
        text("n_unit", &|cell| cell.n_unit.clone()),
        text("unit", &|cell| cell.unit.clone()),
        text("method", &|cell| cell.method.clone()),
        Column::new(
            "suppressed".into(),
            cells.iter().map(|cell| cell.suppressed).collect::<Vec<_>>(),
        ),
        figure("covered", |cell| cell.covered),
        figure("against_all", |cell| cell.against_all),
        figure("p", |cell| cell.p),
        figure("p_holm", |cell| cell.p_holm),
    ];
    DataFrame::new(cells.len(), columns)
}
