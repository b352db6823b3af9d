//! The long table as CSV (RFC 4180), figures at full precision.

use crate::bands::BandsAnswer;
use crate::render::csv::quoted;

/// Names of the columns, those of the Parquet file.
const NAMES: [&str; 17] = [
    "measure",
    "split",
    "level",
    "kind",
    "estimate",
    "low",
    "high",
    "n",
    "folds",
    "n_unit",
    "unit",
    "method",
    "suppressed",
    "covered",
    "against_all",
    "p",
    "p_holm",
];

/// The long table: one header line, one line a cell; a figure that does not exist is empty.
pub fn csv(answer: &BandsAnswer) -> String {
    let mut out = NAMES.join(",") + "\r\n";
    let figure = |figure: Option<f64>| figure.map_or_else(String::new, |f| f.to_string());
    for cell in &answer.cells {
        let line = [
            quoted(cell.measure.name()),
            quoted(cell.split.name()),
            quoted(&cell.level),
            quoted(&cell.kind),
            figure(cell.estimate),
            figure(cell.low),
            figure(cell.high),
            cell.n.to_string(),
            cell.folds.to_string(),
            quoted(&cell.n_unit),
            quoted(&cell.unit),
            quoted(&cell.method),
            cell.suppressed.to_string(),
            figure(cell.covered),
            figure(cell.against_all),
            figure(cell.p),
            figure(cell.p_holm),
        ];
        out.push_str(&line.join(","));
        out.push_str("\r\n");
    }
    out
}
