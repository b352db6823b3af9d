//! Typed access to the columns of a part, with errors that name table and column.

use std::collections::BTreeMap;

use polars::prelude::*;

use crate::error::AskError;

/// Values of a column, each with its first row and the number of rows up to its last.
pub type Found = Vec<(u64, (usize, usize))>;

/// A part's rows, with the table's name for errors.
pub struct Rows<'a> {
    table: &'static str,
    frame: &'a DataFrame,
}

impl<'a> Rows<'a> {
    /// Rows of a table.
    pub fn new(table: &'static str, frame: &'a DataFrame) -> Self {
        Rows { table, frame }
    }

    /// An error about the table.
    pub fn bad(&self, what: String) -> AskError {
        AskError::BadTable {
            table: self.table,
            what,
        }
    }

    fn failed(&self, source: PolarsError) -> AskError {
        self.bad(source.to_string())
    }

    fn null(&self, name: &str) -> AskError {
        self.bad(format!("column \"{name}\" holds a null"))
    }

    fn column(&self, name: &str) -> Result<&'a Column, AskError> {
        self.frame.column(name).map_err(|error| self.failed(error))
    }

    /// A text column.
    pub fn texts(&self, name: &str) -> Result<&'a StringChunked, AskError> {
        self.column(name)?.str().map_err(|error| self.failed(error))
    }

    /// A boolean column without nulls.
    pub fn booleans(&self, name: &str) -> Result<Vec<bool>, AskError> {
        self.column(name)?
            .bool()
            .map_err(|error| self.failed(error))?
            .iter()
            .map(|value| value.ok_or_else(|| self.null(name)))
            .collect()
    }

    /// A boolean column.
    pub fn optional_booleans(&self, name: &str) -> Result<Vec<Option<bool>>, AskError> {
        let values = self
            .column(name)?
            .bool()
            .map_err(|error| self.failed(error))?;
        Ok(values.iter().collect())
    }

    /// A column of whole numbers of either sign.
    pub fn signed(&self, name: &str) -> Result<Vec<Option<i64>>, AskError> {
        let column = self
            .column(name)?
            .strict_cast(&DataType::Int64)
            .map_err(|error| self.failed(error))?;
        let numbers = column.i64().map_err(|error| self.failed(error))?;
        Ok(numbers.iter().collect())
    }

    /// Where a column of small numbers has this number or less.
    pub fn at_most(&self, name: &str, number: u8) -> Result<BooleanChunked, AskError> {
        let column = self.column(name)?;
        let column = column.u8().map_err(|error| self.failed(error))?;
        Ok(column.lt_eq(number))
    }

    /// A column of whole numbers not below 0, without nulls.
    pub fn numbers(&self, name: &str) -> Result<Vec<u64>, AskError> {
        self.optional_numbers(name)?
            .into_iter()
            .map(|value| value.ok_or_else(|| self.null(name)))
            .collect()
    }

    /// A column of whole numbers not below 0.
    pub fn optional_numbers(&self, name: &str) -> Result<Vec<Option<u64>>, AskError> {
        let column = self
            .column(name)?
            .strict_cast(&DataType::UInt64)
            .map_err(|error| self.failed(error))?;
        let numbers = column.u64().map_err(|error| self.failed(error))?;
        Ok(numbers.iter().collect())
    }

    /// A column of one byte each, without nulls.
    pub fn bytes(&self, name: &str) -> Result<Vec<u8>, AskError> {
        let column = self.column(name)?;
        let values = column.u8().map_err(|error| self.failed(error))?;
        self.whole(name, values)
    }

    /// A column of two bytes each, without nulls.
    pub fn pairs(&self, name: &str) -> Result<Vec<u16>, AskError> {
        let column = self.column(name)?;
        let values = column.u16().map_err(|error| self.failed(error))?;
        self.whole(name, values)
    }

    /// A column of four bytes each, without nulls.
    pub fn fours(&self, name: &str) -> Result<Vec<u32>, AskError> {
        let column = self.column(name)?;
        let values = column.u32().map_err(|error| self.failed(error))?;
        self.whole(name, values)
    }

    fn whole<T: PolarsNumericType>(
        &self,
        name: &str,
        values: &ChunkedArray<T>,
    ) -> Result<Vec<T::Native>, AskError> {
        if values.null_count() > 0 {
            return Err(self.null(name));
        }
        Ok(values.into_no_null_iter().collect())
    }

    /// The first row of a column of whole numbers.
    pub fn first_number(&self, name: &str) -> Result<u64, AskError> {
        let first = self.optional_numbers(name)?.into_iter().next().flatten();
        first.ok_or_else(|| self.null(name))
    }

    /// The first row of a text column.
    pub fn first_text(&self, name: &str) -> Result<String, AskError> {
        let first = self.optional_texts(name)?.into_iter().next().flatten();
        first.ok_or_else(|| self.null(name))
    }

    /// A text column, copied out.
    pub fn optional_texts(&self, name: &str) -> Result<Vec<Option<String>>, AskError> {
        let texts = self.texts(name)?;
        Ok(texts.iter().map(|text| text.map(str::to_owned)).collect())
    }

    /// Where a text column has one of these values.
    pub fn any_of<'b>(
        &self,
        name: &str,
        values: impl IntoIterator<Item = &'b str>,
    ) -> Result<BooleanChunked, AskError> {
        let texts = self.texts(name)?;
        let mut mask = BooleanChunked::full(name.into(), false, self.frame.height());
        for value in values {
            mask = mask | texts.equal(value);
        }
        Ok(mask)
    }

    /// Where a boolean column has this value.
    pub fn is(&self, name: &str, wanted: bool) -> Result<BooleanChunked, AskError> {
        let values = self
            .column(name)?
            .bool()
            .map_err(|error| self.failed(error))?;
        Ok(if wanted { values.clone() } else { !values })
    }

    /// Where a number lies between two columns of small numbers, both ends included.
    pub fn between(&self, low: &str, high: &str, number: u8) -> Result<BooleanChunked, AskError> {
        let column = |name: &str| {
            let column = self.column(name)?;
            column.u8().map_err(|error| self.failed(error))
        };
        Ok(column(low)?.lt_eq(number) & column(high)?.gt_eq(number))
    }

    /// For each wanted value of a column, its first row and the number of rows up to its
    /// last; values that are not there are left out.
    pub fn find(&self, name: &str, wanted: &[u64]) -> Result<Found, AskError> {
        let column = self.column(name)?;
        let values = column.u32().map_err(|error| self.failed(error))?;
        let mut found: BTreeMap<u64, (usize, usize)> = BTreeMap::new();
        for (row, value) in values.iter().enumerate() {
            let value = u64::from(value.ok_or_else(|| self.null(name))?);
            if wanted.contains(&value) {
                let place = found.entry(value).or_insert((row, 0));
                place.1 = row + 1 - place.0;
            }
        }
        Ok(found.into_iter().collect())
    }

    /// The rows where a mask holds.
    pub fn filter(&self, mask: &BooleanChunked) -> Result<DataFrame, AskError> {
        self.frame.filter(mask).map_err(|error| self.failed(error))
    }
}
