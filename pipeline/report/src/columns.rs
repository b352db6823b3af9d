//! The columns of a tidy table: declared once with name, unit, text and value, so that the rows of
//! a report and its codebook come from one list.
//!
//! ```
//! use hobble_report::columns::{Columns, Of};
//!
//! let mut columns = Columns::<(u64, Option<f64>)>::default();
//! columns.count("games", "games", "Games counted.", |row| row.0);
//! columns.figure("mean", Of::new("pawns", "no game"), "Mean of them.", |row| row.1);
//! let tidy = columns.tidy(&[(3, Some(0.5)), (0, None)]);
//! assert_eq!(tidy.columns, ["games", "mean"]);
//! assert_eq!(columns.texts()[1].unit, "pawns");
//! ```

use hobble_statistics::{Estimate, Interval};

use crate::tidy::{Record, Tidy, Value};

/// What a codebook says of a column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnText {
    /// Name.
    pub name: String,
    /// `text`, `count` (a whole number not below 0), `figure` or `flag`.
    pub column_type: &'static str,
    /// Unit; empty for none.
    pub unit: &'static str,
    /// What an empty cell means; `never` for a column without any.
    pub empty: &'static str,
    /// What a value is.
    pub text: String,
}

/// Unit of a figure, and what an empty cell means.
#[derive(Debug, Clone, Copy)]
pub struct Of {
    unit: &'static str,
    empty: &'static str,
}

impl Of {
    /// A unit, and why a cell is empty.
    pub const fn new(unit: &'static str, empty: &'static str) -> Of {
        Of { unit, empty }
    }
}

/// The meaning of empty cells in a column without any.
pub const NEVER: &str = "never";

type Worth<T> = Box<dyn Fn(&T) -> Value>;

/// The columns of a table whose rows are made of a `T` each.
pub struct Columns<T> {
    columns: Vec<(ColumnText, Worth<T>)>,
}

impl<T> Default for Columns<T> {
    fn default() -> Columns<T> {
        Columns {
            columns: Vec::new(),
        }
    }
}

impl<T: 'static> Columns<T> {
    /// The table of some rows; without a name where there is none.
    pub fn tidy<'a>(&self, rows: impl IntoIterator<Item = &'a T>) -> Tidy {
        Tidy::of(rows.into_iter().map(|row| self.record(row)))
    }

    /// A row.
    pub fn record(&self, row: &T) -> Record {
        let mut record = Record::default();
        for (column, value) in &self.columns {
            record.put(column.name.as_str(), value(row));
        }
        record
    }

    /// What the codebook says.
    pub fn texts(&self) -> Vec<ColumnText> {
        self.columns.iter().map(|(text, _)| text.clone()).collect()
    }

    /// Adds words, which are never missing.
    pub fn text(
        &mut self,
        name: impl Into<String>,
        text: impl Into<String>,
        of: impl Fn(&T) -> String + 'static,
    ) -> &mut Columns<T> {
        let value = move |row: &T| Value::Text(of(row));
        self.put(name.into(), "text", Of::new("", NEVER), text.into(), value)
    }

    /// Adds words that are empty in some rows.
    pub fn words(
        &mut self,
        name: impl Into<String>,
        empty: &'static str,
        text: impl Into<String>,
        of: impl Fn(&T) -> String + 'static,
    ) -> &mut Columns<T> {
        let value = move |row: &T| Value::Text(of(row));
        self.put(name.into(), "text", Of::new("", empty), text.into(), value)
    }

    /// Adds a whole number, which is never missing.
    pub fn count(
        &mut self,
        name: impl Into<String>,
        unit: &'static str,
        text: impl Into<String>,
        of: impl Fn(&T) -> u64 + 'static,
    ) -> &mut Columns<T> {
        self.optional(name, Of::new(unit, NEVER), text, move |row| Some(of(row)))
    }

    /// Adds a whole number that may not apply.
    pub fn optional(
        &mut self,
        name: impl Into<String>,
        what: Of,
        text: impl Into<String>,
        of: impl Fn(&T) -> Option<u64> + 'static,
    ) -> &mut Columns<T> {
        let value = move |row: &T| Value::Count(of(row));
        self.put(name.into(), "count", what, text.into(), value)
    }

    /// Adds a figure.
    pub fn figure(
        &mut self,
        name: impl Into<String>,
        what: Of,
        text: impl Into<String>,
        of: impl Fn(&T) -> Option<f64> + 'static,
    ) -> &mut Columns<T> {
        let value = move |row: &T| Value::Figure(of(row));
        self.put(name.into(), "figure", what, text.into(), value)
    }

    /// Adds yes or no.
    pub fn flag(
        &mut self,
        name: impl Into<String>,
        text: impl Into<String>,
        of: impl Fn(&T) -> bool + 'static,
    ) -> &mut Columns<T> {
        let value = move |row: &T| Value::Flag(of(row));
        self.put(name.into(), "flag", Of::new("", NEVER), text.into(), value)
    }

    /// Adds the bounds of a figure's interval, `NAME_low` and `NAME_high`.
    pub fn bounds(
        &mut self,
        name: &str,
        what: Of,
        of: impl Fn(&T) -> Option<Interval> + Clone + 'static,
    ) -> &mut Columns<T> {
        let (low, high) = (of.clone(), of);
        let text = |bound| format!("{bound} bound of the 95% interval of `{name}`.");
        self.figure(format!("{name}_low"), what, text("Lower"), move |row| {
            low(row).map(|it| it.low)
        });
        self.figure(format!("{name}_high"), what, text("Upper"), move |row| {
            high(row).map(|it| it.high)
        })
    }

    /// Adds a standard error, `NAME_se`, with the scale on which it was worked out.
    pub fn error(
        &mut self,
        name: &str,
        scale: &str,
        empty: &'static str,
        of: impl Fn(&T) -> Option<Interval> + 'static,
    ) -> &mut Columns<T> {
        let text = format!("Standard error behind the interval of `{name}`, on the {scale}.");
        let unit = Of::new("that scale", empty);
        self.figure(format!("{name}_se"), unit, text, move |row| of(row)?.se)
    }

    /// Adds a figure with the bounds of its interval.
    pub fn estimate(
        &mut self,
        name: &str,
        what: Of,
        text: impl Into<String>,
        of: impl Fn(&T) -> Estimate + Clone + 'static,
    ) -> &mut Columns<T> {
        let value = of.clone();
        self.figure(name, what, text, move |row| value(row).value);
        self.bounds(name, what, move |row| of(row).jackknife)
    }

    /// Adds the columns `value`, `low` and `high` of a figure that another column names.
    pub fn value(
        &mut self,
        what: Of,
        of: impl Fn(&T) -> Estimate + Clone + 'static,
    ) -> &mut Columns<T> {
        let (low, high) = (of.clone(), of.clone());
        let text = |bound| format!("{bound} bound of the 95% interval of `value`.");
        self.figure("value", what, "The figure.", move |row| of(row).value);
        self.figure("low", what, text("Lower"), move |row| {
            low(row).jackknife.map(|it| it.low)
        });
        self.figure("high", what, text("Upper"), move |row| {
            high(row).jackknife.map(|it| it.high)
        })
    }

    /// Adds the columns `definitions`, the version that the tables follow, and `k`.
    pub fn definitions_and_k(
        &mut self,
        of: impl Fn(&T) -> (u32, u8) + Clone + 'static,
    ) -> &mut Columns<T> {
        let definitions = of.clone();
        let text = "Version of the definitions.";
        self.count("definitions", "", text, move |row| {
            definitions(row).0.into()
        });
        let text = "Most safe squares of a held piece.";
        self.count("k", "squares", text, move |row| of(row).1.into())
    }

    fn put(
        &mut self,
        name: String,
        column_type: &'static str,
        Of { unit, empty }: Of,
        text: String,
        value: impl Fn(&T) -> Value + 'static,
    ) -> &mut Columns<T> {
        let text = ColumnText {
            name,
            column_type,
            unit,
            empty,
            text,
        };
        self.columns.push((text, Box::new(value)));
        self
    }
}
