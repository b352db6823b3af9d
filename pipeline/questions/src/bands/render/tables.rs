//! The tables a reader sees: all kinds of piece together, a table a split, a column a
//! measure. The long table has the rest.

use crate::bands::{BandCell, BandsAnswer, Measure, Split};

/// One table.
#[derive(Debug, Clone)]
pub struct ReaderTable<'a> {
    /// What it is split by.
    pub split: Split,
    /// Measures, in order: those that have any cell.
    pub measures: Vec<Measure>,
    /// By level, its name and a cell a measure.
    pub rows: Vec<(&'a str, Vec<Option<&'a BandCell>>)>,
}

/// Name of a split for readers.
pub const fn split_title(split: Split) -> &'static str {
    match split {
        Split::All => "All games",
        Split::Band => "By rating band",
        Split::TimeClass => "By time class",
        Split::Phase => "By phase",
        Split::Kind => "By kind of piece",
        Split::Color => "By colour",
        Split::Eco => "By ECO letter",
    }
}

/// The tables, in the order of the splits.
pub fn tables(answer: &BandsAnswer) -> Vec<ReaderTable<'_>> {
    let asked = std::iter::once(Split::All).chain(answer.parameters.split.iter().copied());
    asked.map(|split| table(answer, split)).collect()
}

fn table(answer: &BandsAnswer, split: Split) -> ReaderTable<'_> {
    let here: Vec<&BandCell> = answer
        .cells
        .iter()
        .filter(|cell| cell.split == split && (split == Split::Kind || cell.kind == "all"))
        .collect();
    let measures: Vec<Measure> = Measure::ALL
        .iter()
        .copied()
        .filter(|measure| here.iter().any(|cell| cell.measure == *measure))
        .collect();
    let mut rows: Vec<(&str, Vec<Option<&BandCell>>)> = Vec::new();
    for cell in &here {
        let at = measures.iter().position(|measure| *measure == cell.measure);
        let row = match rows.iter().position(|(level, _)| *level == cell.level) {
            Some(row) => row,
            None => {
                rows.push((&cell.level, vec![None; measures.len()]));
                rows.len() - 1
            }
        };
        if let Some(at) = at {
            rows[row].1[at] = Some(cell);
        }
    }
    ReaderTable {
        split,
        measures,
        rows,
    }
}

/// A figure as its measure is shown: shares in percent.
pub fn figure(measure: Measure, value: f64, digits: usize) -> String {
    if measure.is_share() {
        format!("{:.digits$}%", value * 100.0)
    } else {
        format!("{value:.digits$}")
    }
}

/// Digits after the point that a cell's interval asks for.
pub fn digits(cell: &BandCell) -> usize {
    let factor = if cell.measure.is_share() { 100.0 } else { 1.0 };
    let width = match (cell.low, cell.high) {
        (Some(low), Some(high)) => (high - low) * factor,
        _ => return if cell.measure.is_share() { 1 } else { 2 },
    };
    let more = match width {
        w if w < 0.02 => 3,
        w if w < 0.2 => 2,
        _ => 1,
    };
    if cell.measure.is_share() {
        more
    } else {
        more.max(2)
    }
}

/// The cell's figure in words, or why there is none.
pub fn value(cell: Option<&BandCell>) -> String {
    match cell {
        None => "-".to_owned(),
        Some(cell) if cell.suppressed => "too few".to_owned(),
        Some(cell) => cell.estimate.map_or_else(
            || "-".to_owned(),
            |value| {
                let sign = if marked(cell) { "*" } else { "" };
                figure(cell.measure, value, digits(cell)) + sign
            },
        ),
    }
}

/// The cell's interval in words; empty where there is none.
pub fn interval(cell: Option<&BandCell>) -> String {
    let bounds = cell.and_then(|cell| Some((cell, cell.low?, cell.high?)));
    bounds.map_or_else(String::new, |(cell, low, high)| {
        let digits = digits(cell);
        let low = figure(cell.measure, low, digits);
        format!(
            "{} to {}",
            low.trim_end_matches('%'),
            figure(cell.measure, high, digits)
        )
    })
}

/// Whether the level differs from all levels after Holm's adjustment.
pub fn marked(cell: &BandCell) -> bool {
    cell.p_holm.is_some_and(|p| p < 0.05)
}

/// What the mark means.
pub const MARK: &str =
    "* differs from all levels together, at 5% after Holm's adjustment for all tests.";

/// The trends of all kinds together, in sentences.
pub fn trends(answer: &BandsAnswer) -> Vec<String> {
    let all: Vec<_> = answer
        .trends
        .iter()
        .filter(|trend| trend.kind == "all")
        .collect();
    if all.is_empty() && answer.parameters.split.contains(&Split::Band) {
        return vec![
            "Too few rated games to tell of a trend: fewer than three bands have an interval."
                .to_owned(),
        ];
    }
    all.into_iter()
        .map(|trend| {
            let change =
                |factor: f64| format!("{:+.2}%", (factor - 1.0) * 100.0).replace('-', "\u{2212}");
            let odds = if trend.measure.is_share() {
                "odds of "
            } else {
                ""
            };
            let verdict = if trend.p_holm >= 0.05 {
                "no trend that holds after the adjustment"
            } else if trend.per_100_points > 1.0 {
                "rises with the rating"
            } else {
                "falls with the rating"
            };
            format!(
                "{odds}{}: {verdict} ({} with 100 points, {} to {}; Holm-adjusted p {}; {} bands).",
                trend.measure.title().to_lowercase(),
                change(trend.per_100_points),
                change(trend.low),
                change(trend.high),
                p_in_words(trend.p_holm),
                trend.bands
            )
        })
        .map(|sentence| {
            let mut chars = sentence.chars();
            chars.next().map_or_else(String::new, |first| {
                first.to_uppercase().chain(chars).collect()
            })
        })
        .collect()
}

/// A p-value with as much as it tells.
pub fn p_in_words(p: f64) -> String {
    if p < 0.001 {
        "below 0.001".to_owned()
    } else {
        format!("{p:.3}")
    }
}
