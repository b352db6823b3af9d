//! A cell of a table: what it is, and the words for it.

use hobble_statistics::{Bounds, Interval};

use crate::number;

/// What a figure is measured in; says how it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// A fraction from 0 to 1, written in percent.
    Share,
    /// A difference of two shares, written in percentage points with its sign.
    Points,
    /// How many times as much.
    Ratio,
    /// A number of things, with two digits after the point.
    Number,
    /// A mean score from 0 to 1, with three digits after the point.
    Score,
    /// A difference of two scores, with its sign.
    ScoreDifference,
    /// A number of pawns or a difference of two, with its sign and two digits after the point.
    Pawns,
}

/// A figure with what belongs to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// What it is measured in.
    pub unit: Unit,
    /// The figure.
    pub value: f64,
    /// Its interval.
    pub interval: Option<Bounds>,
    /// Its interval by a second method.
    pub second: Option<Bounds>,
    /// What it is out of.
    pub of: Option<u64>,
    /// Whether it is marked with an asterisk; the table's caption says what that means.
    pub marked: bool,
}

/// A cell of a table. Alignment and words follow from what it is.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing belongs there.
    Empty,
    /// Words.
    Text(String),
    /// A whole number.
    Count(u64),
    /// So many of so many.
    Part(u64, u64),
    /// Two whole numbers side by side: `12 / 3`.
    Pair(u64, u64),
    /// A figure.
    Figure(Figure),
    /// There is no figure; with what it would be out of.
    None(Why, Option<u64>),
}

/// Why there is no figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// It does not exist for these counts, or was not asked for.
    Undefined,
    /// The games are too few.
    TooFew,
    /// There are no peers.
    NoPeers,
}

impl Why {
    /// What stands in place of the figure.
    ///
    /// ```
    /// assert_eq!(hobble_report::Why::TooFew.words(), "too few games");
    /// ```
    pub const fn words(self) -> &'static str {
        match self {
            Why::Undefined => "\u{2013}",
            Why::TooFew => "too few games",
            Why::NoPeers => "no peers",
        }
    }
}

impl Unit {
    /// Digits after the point for a figure with this interval.
    fn digits(self, value: f64, interval: Option<Bounds>) -> usize {
        match self {
            Unit::Share => number::share_digits(value).max(number::percent_digits(interval)),
            Unit::Points => number::percent_digits(interval),
            Unit::Ratio => match number::ratio_digits(interval) {
                2 if value >= 99.95 => 0,
                2 if value >= 9.995 => 1,
                digits => digits,
            },
            Unit::Number | Unit::Pawns => number::ratio_digits(interval),
            Unit::Score | Unit::ScoreDifference => 3,
        }
    }

    /// A number of this unit, without the percent sign of a share.
    fn bare(self, value: f64, digits: usize) -> String {
        match self {
            Unit::Share => format!("{:.digits$}", value * 100.0),
            Unit::Points => number::signed(value * 100.0, digits),
            Unit::ScoreDifference | Unit::Pawns => number::signed(value, digits),
            Unit::Ratio | Unit::Number | Unit::Score => format!("{value:.digits$}"),
        }
    }

    fn sign(self) -> &'static str {
        if self == Unit::Share { "%" } else { "" }
    }
}

impl Figure {
    /// A figure and its interval; nothing else.
    pub fn new(unit: Unit, value: f64, interval: Option<Bounds>) -> Figure {
        Figure {
            unit,
            value,
            interval,
            second: None,
            of: None,
            marked: false,
        }
    }

    /// The figure in words: `4.2%`, `+1.3`, `1.56`.
    ///
    /// ```
    /// use hobble_report::{Figure, Unit};
    ///
    /// assert_eq!(Figure::new(Unit::Share, 0.042, None).words(), "4.2%");
    /// assert_eq!(Figure::new(Unit::Points, -0.013, None).words(), "\u{2212}1.3");
    /// ```
    pub fn words(&self) -> String {
        let digits = self.unit.digits(self.value, self.interval);
        let percent = self.value * 100.0;
        let mark = if self.marked { "*" } else { "" };
        if self.unit == Unit::Share && percent > 0.0 && percent < 0.005 && digits < 3 {
            return format!("under 0.01%{mark}");
        }
        format!(
            "{}{}{mark}",
            self.unit.bare(self.value, digits),
            self.unit.sign()
        )
    }

    /// Its interval in words, `3.2 to 5.2%`; nothing where there is none.
    pub fn interval_words(&self) -> Option<String> {
        self.interval.map(|interval| self.bounds(interval))
    }

    /// Its second interval in words.
    pub fn second_words(&self) -> Option<String> {
        self.second.map(|interval| self.bounds(interval))
    }

    fn bounds(&self, bounds: Bounds) -> String {
        let digits = self.unit.digits(self.value, self.interval);
        format!(
            "{} to {}{}",
            self.unit.bare(bounds.low, digits),
            self.unit.bare(bounds.high, digits),
            self.unit.sign()
        )
    }

    /// Figure and interval in one line: `4.2% (3.2 to 5.2%)`.
    pub fn line(&self) -> String {
        self.interval_words()
            .map_or_else(|| self.words(), |it| format!("{} ({it})", self.words()))
    }
}

impl Cell {
    /// A figure, or that there is none.
    pub fn figure(unit: Unit, value: Option<f64>, interval: Option<Bounds>) -> Cell {
        value.map_or(Cell::None(Why::Undefined, None), |value| {
            Cell::Figure(Figure::new(unit, value, interval))
        })
    }

    /// Words.
    pub fn text(text: impl Into<String>) -> Cell {
        Cell::Text(text.into())
    }

    /// Whether it stands to the left, as words do; numbers stand to the right.
    pub fn is_words(&self) -> bool {
        matches!(self, Cell::Text(_))
    }

    /// The cell in words, without interval.
    pub fn words(&self) -> String {
        match self {
            Cell::Empty => String::new(),
            Cell::Text(text) => text.clone(),
            Cell::Count(number) => number::count(*number),
            Cell::Part(part, whole) => {
                format!("{} of {}", number::count(*part), number::count(*whole))
            }
            Cell::Pair(one, other) => {
                format!("{} / {}", number::count(*one), number::count(*other))
            }
            Cell::Figure(figure) => figure.words(),
            Cell::None(why, _) => why.words().to_owned(),
        }
    }

    /// What stands beneath it: its intervals in words.
    pub fn beneath(&self) -> Vec<String> {
        match self {
            Cell::Figure(figure) => figure
                .interval_words()
                .into_iter()
                .chain(figure.second_words())
                .collect(),
            _ => Vec::new(),
        }
    }

    /// What the figure is, or would be, out of.
    pub fn out_of(&self) -> Option<u64> {
        match self {
            Cell::Figure(figure) => figure.of,
            Cell::None(_, of) => *of,
            _ => None,
        }
    }

    /// The cell in one line, intervals in parentheses.
    pub fn line(&self) -> String {
        let beneath = self.beneath();
        if beneath.is_empty() {
            self.words()
        } else {
            format!("{} ({})", self.words(), beneath.join("; "))
        }
    }
}

/// Bounds of an interval.
pub fn bounds(interval: Option<Interval>) -> Option<Bounds> {
    interval.map(|interval| Bounds {
        low: interval.low,
        high: interval.high,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figure(unit: Unit, value: f64, low: f64, high: f64) -> Figure {
        Figure::new(unit, value, Some(Bounds { low, high }))
    }

    #[test]
    fn figures_as_their_unit_asks() {
        let line = |unit, value, low, high| figure(unit, value, low, high).line();
        assert_eq!(
            line(Unit::Share, 0.0412, 0.032, 0.052),
            "4.1% (3.2 to 5.2%)"
        );
        assert_eq!(
            line(Unit::Share, 0.0412, 0.0408, 0.0416),
            "4.120% (4.080 to 4.160%)"
        );
        assert_eq!(
            line(Unit::Points, 0.02, -0.011, 0.029),
            "+2.0 (\u{2212}1.1 to +2.9)"
        );
        assert_eq!(line(Unit::Ratio, 1.93, 1.5, 2.4), "1.93 (1.50 to 2.40)");
        assert_eq!(line(Unit::Ratio, 12.44, 3.0, 40.0), "12.4 (3.0 to 40.0)");
        assert_eq!(line(Unit::Score, 0.5, 0.25, 0.75), "0.500 (0.250 to 0.750)");
        assert_eq!(
            Figure::new(Unit::Share, 0.000_01, None).words(),
            "under 0.01%"
        );
    }

    #[test]
    fn a_cell_says_what_it_is() {
        assert_eq!(Cell::Count(1234).line(), "1,234");
        assert_eq!(Cell::Part(3, 4000).line(), "3 of 4,000");
        assert_eq!(Cell::figure(Unit::Share, None, None).line(), "\u{2013}");
        let mut two = figure(Unit::Share, 0.5, 0.4, 0.6);
        two.second = Some(Bounds {
            low: 0.45,
            high: 0.55,
        });
        two.marked = true;
        assert_eq!(
            Cell::Figure(two).line(),
            "50.0%* (40.0 to 60.0%; 45.0 to 55.0%)"
        );
        assert!(Cell::text("knight").is_words() && !Cell::Count(1).is_words());
    }
}
