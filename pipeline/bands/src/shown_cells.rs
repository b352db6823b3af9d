//! The cells that readers see, in tables and plots, and the names of what they are split by.

use hobble_report::{Bounds, Cell, Figure, Unit, Why};

use super::answer::{BandCell, BandsAnswer};
use super::measures::{Measure, Split};

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

/// Name of a split for machines, of letters and hyphens.
pub fn split_id(split: Split) -> String {
    split.name().replace('_', "-")
}

/// All kinds of piece together by one split: a row a level, a column a measure.
#[derive(Debug, Clone)]
pub struct ByLevel<'a> {
    /// Measures, in order: those that have any cell.
    pub measures: Vec<Measure>,
    /// By level, its name and a cell a measure.
    pub rows: Vec<(&'a str, Vec<Option<&'a BandCell>>)>,
}

/// The cells of a split that a reader sees; the tidy table has the rest.
pub fn by_level(answer: &BandsAnswer, split: Split) -> ByLevel<'_> {
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
    ByLevel { measures, rows }
}

/// What a figure is measured in.
const fn unit(measure: Measure) -> Unit {
    if measure.is_share() {
        Unit::Share
    } else {
        Unit::Number
    }
}

/// A cell for readers.
pub fn shown(cell: Option<&BandCell>) -> Cell {
    let Some(cell) = cell else {
        return Cell::None(Why::Undefined, None);
    };
    let why = if cell.suppressed {
        Why::TooFew
    } else {
        Why::Undefined
    };
    let Some(value) = cell.estimate.filter(|_| !cell.suppressed) else {
        return Cell::None(why, Some(cell.n));
    };
    let interval = cell.low.zip(cell.high);
    let interval = interval.map(|(low, high)| Bounds { low, high });
    let mut figure = Figure::new(unit(cell.measure), value, interval);
    figure.of = Some(cell.n);
    figure.marked = cell.p_holm.is_some_and(|p| p < 0.05);
    Cell::Figure(figure)
}

/// The cell of a measure for all games.
pub fn of_all(answer: &BandsAnswer, measure: Measure) -> Option<&BandCell> {
    answer
        .cells
        .iter()
        .find(|cell| cell.measure == measure && cell.split == Split::All)
}
