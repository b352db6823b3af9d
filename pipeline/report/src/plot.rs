//! The plots of a report, as figures and words: what is drawn is decided here, how it looks in
//! the renderer.

use hobble_statistics::Interval;

use crate::cell::{Figure, Unit, bounds};

/// A plot, with what it shows in words for readers who do not see it.
#[derive(Debug, Clone, PartialEq)]
pub struct Plot {
    /// Its name within the page, of letters, digits and hyphens.
    pub name: String,
    /// What it is, in a few words.
    pub title: String,
    /// What it shows, in full.
    pub words: String,
    /// What stands beneath it.
    pub caption: String,
    /// What is drawn.
    pub drawing: Drawing,
}

/// What a plot is made of.
#[derive(Debug, Clone, PartialEq)]
pub enum Drawing {
    /// A row a group, a dot a series.
    Dots(Dots),
    /// Cumulative incidence, a curve an end.
    Incidence(Incidence),
    /// A panel a measure, the same levels in each.
    Multiples(Multiples),
}

/// Dots with whiskers: one row a group, one dot a series, its interval as a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Dots {
    /// Names of the series, at most two. A single series gets no key.
    pub series: Vec<String>,
    /// The groups.
    pub rows: Vec<Row>,
    /// What the figures are.
    pub scale: Scale,
    /// What the axis shows.
    pub axis: String,
}

/// One group.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its name.
    pub label: String,
    /// Whether it is set off from the rows before it: the row of all.
    pub all: bool,
    /// One place a series; nothing where there is no figure, or none to rely on.
    pub dots: Vec<Option<Dot>>,
    /// What is written where there is no dot.
    pub missing: String,
}

/// One figure of a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Dot {
    /// The figure.
    pub value: f64,
    /// Lower and upper bound of its interval.
    pub interval: Option<(f64, f64)>,
    /// The figure as text, written beside it.
    pub text: String,
}

impl Dot {
    /// The dot of a figure with an interval. Without one there is no dot, for it would look
    /// certain; nor is there one of a ratio of 0, which has no place on its scale.
    pub fn of(unit: Unit, value: Option<f64>, interval: Option<Interval>) -> Option<Dot> {
        let (value, bounds) = (value?, bounds(interval)?);
        let drawable = bounds.low.is_finite() && bounds.high.is_finite();
        (drawable && (unit != Unit::Ratio || value > 0.0)).then(|| Dot {
            value,
            interval: Some((bounds.low, bounds.high)),
            text: Figure::new(unit, value, Some(bounds)).words(),
        })
    }
}

/// Lower and upper bound of an interval.
pub fn ends(interval: Option<Interval>) -> Option<(f64, f64)> {
    interval.map(|interval| (interval.low, interval.high))
}

/// What the figures are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// Fractions from 0 to 1, shown in percent from 0.
    Share,
    /// Ratios, on a logarithmic scale around 1.
    Ratio,
    /// Plain numbers not below 0, shown from 0.
    Number,
}

/// Cumulative incidence: what share has met each end by so many moves, as steps, with a
/// band for the interval.
#[derive(Debug, Clone, PartialEq)]
pub struct Incidence {
    /// At most four curves.
    pub curves: Vec<Curve>,
    /// Moves at the right edge.
    pub moves: f64,
    /// What the height shows.
    pub axis: String,
}

/// One curve; it starts from 0 at move 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// The end it is of.
    pub label: String,
    /// Its steps, by moves, rising.
    pub steps: Vec<Step>,
}

/// A step of a curve: from `moves` on, this share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Moves since the start.
    pub moves: f64,
    /// Share that has met the end by then.
    pub share: f64,
    /// Lower and upper bound of its interval.
    pub interval: Option<(f64, f64)>,
}

/// Small multiples: one panel a measure, the same levels in each.
#[derive(Debug, Clone, PartialEq)]
pub struct Multiples {
    /// Names of the levels, short.
    pub levels: Vec<String>,
    /// The panels.
    pub panels: Vec<Panel>,
    /// Names of the series, at most two; a single one gets no key.
    pub series: Vec<String>,
    /// Whether the levels run from left to right; else they stand below one another.
    pub ordered: bool,
}

/// One panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// What it shows.
    pub title: String,
    /// Whether the figures are shares, shown in percent.
    pub share: bool,
    /// By level, a place a series; nothing where there is too little.
    pub marks: Vec<Vec<Option<Mark>>>,
    /// The figure of all levels together, drawn as a dashed line.
    pub all: Option<f64>,
}

/// A figure with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// The figure.
    pub value: f64,
    /// Lower and upper bound of its interval.
    pub interval: Option<(f64, f64)>,
}
