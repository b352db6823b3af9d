//! Which rows of a table pass a question's filters.

use crate::error::AskError;
use hobble_dataset::columns::{Rows, boolean};

/// What is asked of a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Condition<'a> {
    /// Nothing.
    Always,
    /// The text of this column is one of these.
    OneOf(&'static str, Vec<&'a str>),
    /// This boolean column has this value.
    Is(&'static str, bool),
    /// The text of this column is empty (`true`) or not.
    Empty(&'static str, bool),
    /// The number in this column is at most this.
    AtMost(&'static str, u64),
    /// The number in this column is at least this.
    AtLeast(&'static str, u64),
    /// This number is from that of the first column to that of the second.
    Between(&'static str, u64, &'static str),
}

impl Condition<'_> {
    /// Columns that are read.
    pub fn columns(&self) -> impl Iterator<Item = &'static str> + use<> {
        let (one, other) = match *self {
            Condition::Always => (None, None),
            Condition::OneOf(column, _)
            | Condition::Is(column, _)
            | Condition::Empty(column, _)
            | Condition::AtMost(column, _)
            | Condition::AtLeast(column, _) => (Some(column), None),
            Condition::Between(low, _, high) => (Some(low), Some(high)),
        };
        one.into_iter().chain(other)
    }
}

/// Columns that these conditions read, each once.
pub fn columns(conditions: &[Condition<'_>]) -> Vec<&'static str> {
    let mut columns: Vec<_> = conditions.iter().flat_map(Condition::columns).collect();
    columns.sort_unstable();
    columns.dedup();
    columns
}

/// Which rows of a batch pass.
pub struct Mask(Vec<bool>);

impl Mask {
    /// All rows of a batch.
    pub fn all(rows: &Rows) -> Mask {
        Mask(vec![true; rows.len()])
    }

    /// The rows of a batch that meet all of these conditions.
    pub fn of(rows: &Rows, conditions: &[Condition<'_>]) -> Result<Mask, AskError> {
        let mut mask = Mask::all(rows);
        for condition in conditions {
            mask.keep(rows, condition)?;
        }
        Ok(mask)
    }

    /// Keeps the rows that meet a condition.
    fn keep(&mut self, rows: &Rows, condition: &Condition<'_>) -> Result<(), AskError> {
        match *condition {
            Condition::Always => {}
            Condition::OneOf(column, ref values) => {
                self.any_of(rows, column, values.iter().copied())?;
            }
            Condition::Is(column, wanted) => self.is(rows, column, wanted)?,
            Condition::Empty(column, wanted) => {
                let empty = rows.texts(column)?.any_of([""]);
                self.and(|row| empty.at(row) == wanted);
            }
            Condition::AtMost(column, most) => {
                let numbers = rows.optional_numbers(column)?;
                self.and(|row| numbers.get(row).is_some_and(|number| number <= most));
            }
            Condition::AtLeast(column, least) => {
                let numbers = rows.optional_numbers(column)?;
                self.and(|row| numbers.get(row).is_some_and(|number| number >= least));
            }
            Condition::Between(low, number, high) => {
                let (low, high) = (rows.numbers(low)?, rows.numbers(high)?);
                self.and(|row| low.at(row) <= number && number <= high.at(row));
            }
        }
        Ok(())
    }

    /// Keeps the rows for which this holds as well.
    pub fn and(&mut self, holds: impl Fn(usize) -> bool) {
        for (row, passes) in self.0.iter_mut().enumerate() {
            *passes &= holds(row);
        }
    }

    /// Keeps the rows whose text is one of these.
    pub fn any_of<'a>(
        &mut self,
        rows: &Rows,
        name: &str,
        values: impl IntoIterator<Item = &'a str>,
    ) -> Result<(), AskError> {
        let is = rows.texts(name)?.any_of(values);
        self.and(|row| is.at(row));
        Ok(())
    }

    /// Keeps the rows whose boolean has this value; a null has none.
    pub fn is(&mut self, rows: &Rows, name: &str, wanted: bool) -> Result<(), AskError> {
        let values = rows.optional_booleans(name)?;
        self.and(|row| boolean(values, row) == Some(wanted));
        Ok(())
    }

    /// The rows that pass.
    pub fn rows(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.0.len()).filter(|&row| self.0[row])
    }
}
