//! Typed access to the columns of a batch of rows, with errors that name table and column.

use arrow_array::cast::AsArray;
use arrow_array::types::{Int8Type, Int16Type, Int32Type, Int64Type, UInt64Type};
use arrow_array::{
    Array, ArrayRef, ArrowPrimitiveType, BooleanArray, Float32Array, Int16Array, PrimitiveArray,
    RecordBatch, StringArray,
};
use arrow_buffer::{ArrowNativeType, NullBuffer};
use arrow_schema::{ArrowError, DataType};

use crate::error::DatasetError;

/// Some rows of a part, with the table's name for errors.
pub struct Rows {
    table: &'static str,
    places: Places,
    batch: RecordBatch,
}

/// Where rows stand in their part.
enum Places {
    /// One behind the other from here.
    From(usize),
    /// Here and there.
    Each(Vec<usize>),
}

impl Rows {
    /// Rows of a table; `first` is the place of the first in its part.
    pub fn new(table: &'static str, first: usize, batch: RecordBatch) -> Self {
        Rows {
            table,
            places: Places::From(first),
            batch,
        }
    }

    /// Rows picked from a part at these places.
    pub fn picked(table: &'static str, places: Vec<usize>, batch: RecordBatch) -> Self {
        Rows {
            table,
            places: Places::Each(places),
            batch,
        }
    }

    /// The rows that pass.
    pub(crate) fn passing(&self, passing: &BooleanArray) -> Result<Rows, ArrowError> {
        let places = (0..self.len()).filter(|row| passing.value(*row));
        Ok(Rows {
            table: self.table,
            places: Places::Each(places.map(|row| self.place(row)).collect()),
            batch: arrow_select::filter::filter_record_batch(&self.batch, passing)?,
        })
    }

    /// Number of rows.
    pub fn len(&self) -> usize {
        self.batch.num_rows()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Place of a row in the part.
    pub fn place(&self, row: usize) -> usize {
        match &self.places {
            Places::From(first) => first + row,
            Places::Each(places) => places[row],
        }
    }

    /// An error about the table.
    pub fn bad(&self, what: String) -> DatasetError {
        DatasetError::BadTable {
            table: self.table,
            what,
        }
    }

    /// A column as it was read.
    pub(crate) fn column(&self, name: &str) -> Result<&ArrayRef, DatasetError> {
        let column = self.batch.column_by_name(name);
        column.ok_or_else(|| self.bad(format!("there is no column \"{name}\"")))
    }

    fn other(&self, name: &str, column: &ArrayRef) -> DatasetError {
        let found = column.data_type();
        self.bad(format!("column \"{name}\" holds {found}, which it cannot"))
    }

    fn whole(&self, name: &str, column: &dyn Array) -> Result<(), DatasetError> {
        if column.null_count() > 0 {
            return Err(self.bad(format!("column \"{name}\" holds a null")));
        }
        Ok(())
    }

    /// A text column.
    pub fn texts(&self, name: &str) -> Result<Texts<'_>, DatasetError> {
        let column = self.column(name)?;
        let coded = column.as_dictionary_opt::<Int32Type>();
        let words = coded.and_then(|coded| coded.values().as_string_opt::<i32>());
        match (coded, words) {
            (Some(coded), Some(words)) => Ok(Texts {
                words,
                codes: coded.keys().values(),
                nulls: coded.nulls(),
            }),
            _ => Err(self.other(name, column)),
        }
    }

    /// A boolean column.
    pub fn optional_booleans(&self, name: &str) -> Result<&BooleanArray, DatasetError> {
        let column = self.column(name)?;
        column
            .as_boolean_opt()
            .ok_or_else(|| self.other(name, column))
    }

    /// A boolean column without nulls.
    pub fn booleans(&self, name: &str) -> Result<&BooleanArray, DatasetError> {
        let column = self.optional_booleans(name)?;
        self.whole(name, column)?;
        Ok(column)
    }

    /// A column of whole numbers of either sign, two bytes each.
    pub fn signed(&self, name: &str) -> Result<&Int16Array, DatasetError> {
        let column = self.column(name)?;
        column
            .as_primitive_opt()
            .ok_or_else(|| self.other(name, column))
    }

    /// A column of numbers with decimals, four bytes each.
    pub fn floats(&self, name: &str) -> Result<&Float32Array, DatasetError> {
        let column = self.column(name)?;
        column
            .as_primitive_opt()
            .ok_or_else(|| self.other(name, column))
    }

    /// A column of whole numbers not below 0.
    pub fn optional_numbers(&self, name: &str) -> Result<Numbers<'_>, DatasetError> {
        let column = self.column(name)?;
        let values = match column.data_type() {
            DataType::Int8 => Values::Ones(unsigned(column.as_primitive::<Int8Type>())),
            DataType::Int16 => Values::Twos(unsigned(column.as_primitive::<Int16Type>())),
            DataType::Int32 => Values::Fours(unsigned(column.as_primitive::<Int32Type>())),
            DataType::Int64 => Values::Eights(unsigned(column.as_primitive::<Int64Type>())),
            DataType::UInt64 => Values::Eights(column.as_primitive::<UInt64Type>().values()),
            _ => return Err(self.other(name, column)),
        };
        Ok(Numbers {
            values,
            nulls: column.nulls(),
        })
    }

    /// A column of whole numbers not below 0, without nulls.
    pub fn numbers(&self, name: &str) -> Result<Numbers<'_>, DatasetError> {
        self.whole(name, self.column(name)?)?;
        self.optional_numbers(name)
    }

    /// A column of counts of one byte each, without nulls.
    pub fn bytes(&self, name: &str) -> Result<&[u8], DatasetError> {
        Ok(unsigned(self.plain::<Int8Type>(name)?))
    }

    /// A column of counts of two bytes each, without nulls.
    pub fn pairs(&self, name: &str) -> Result<&[u16], DatasetError> {
        Ok(unsigned(self.plain::<Int16Type>(name)?))
    }

    /// A column of counts of four bytes each, without nulls.
    pub fn fours(&self, name: &str) -> Result<&[u32], DatasetError> {
        Ok(unsigned(self.plain::<Int32Type>(name)?))
    }

    /// A column of four signed bytes each, without nulls.
    pub fn signed_fours(&self, name: &str) -> Result<&[i32], DatasetError> {
        Ok(self.plain::<Int32Type>(name)?.values())
    }

    fn plain<T: ArrowPrimitiveType>(&self, name: &str) -> Result<&PrimitiveArray<T>, DatasetError> {
        let column = self.column(name)?;
        self.whole(name, column)?;
        column
            .as_primitive_opt()
            .ok_or_else(|| self.other(name, column))
    }

    /// The first row of a column of whole numbers.
    pub fn first_number(&self, name: &str) -> Result<u64, DatasetError> {
        Ok(self.numbers(name)?.at(0))
    }

    /// The first row of a text column.
    pub fn first_text(&self, name: &str) -> Result<String, DatasetError> {
        let first = self.texts(name)?.get(0);
        let null = || self.bad(format!("column \"{name}\" holds a null"));
        first.map(str::to_owned).ok_or_else(null)
    }
}

/// Counts, which the tables keep in signed numbers, without the sign: none is below 0.
fn unsigned<T: ArrowPrimitiveType, U: ArrowNativeType>(counts: &PrimitiveArray<T>) -> &[U] {
    counts.values().inner().typed_data()
}

/// Whole numbers not below 0, of any width.
#[derive(Clone, Copy)]
pub struct Numbers<'a> {
    values: Values<'a>,
    nulls: Option<&'a NullBuffer>,
}

#[derive(Clone, Copy)]
enum Values<'a> {
    Ones(&'a [u8]),
    Twos(&'a [u16]),
    Fours(&'a [u32]),
    Eights(&'a [u64]),
}

impl Numbers<'_> {
    /// The number of a row; of a null no matter what.
    pub fn at(&self, row: usize) -> u64 {
        match self.values {
            Values::Ones(values) => values[row].into(),
            Values::Twos(values) => values[row].into(),
            Values::Fours(values) => values[row].into(),
            Values::Eights(values) => values[row],
        }
    }

    /// The number of a row, if there is one.
    pub fn get(&self, row: usize) -> Option<u64> {
        let null = self.nulls.is_some_and(|nulls| nulls.is_null(row));
        (!null).then(|| self.at(row))
    }
}

/// Texts: a list of words, and for each row the number of its word.
#[derive(Clone, Copy)]
pub struct Texts<'a> {
    words: &'a StringArray,
    codes: &'a [i32],
    nulls: Option<&'a NullBuffer>,
}

impl<'a> Texts<'a> {
    /// The text of a row, if there is one.
    pub fn get(&self, row: usize) -> Option<&'a str> {
        let null = self.nulls.is_some_and(|nulls| nulls.is_null(row));
        (!null).then(|| self.words.value(self.codes[row] as usize))
    }

    /// What is made of each row's text, worked out once for each different word.
    pub fn read_as<T: Copy>(&self, mut of: impl FnMut(Option<&'a str>) -> T) -> Read<'a, T> {
        let null = of(None);
        Read {
            words: self.words.iter().map(of).collect(),
            null,
            codes: self.codes,
            nulls: self.nulls,
        }
    }

    /// Whether each row's text is one of these.
    pub fn any_of<'b>(&self, values: impl IntoIterator<Item = &'b str>) -> Read<'a, bool> {
        let values: Vec<&str> = values.into_iter().collect();
        self.read_as(|word| word.is_some_and(|word| values.contains(&word)))
    }
}

/// What is made of texts.
pub struct Read<'a, T> {
    words: Vec<T>,
    null: T,
    codes: &'a [i32],
    nulls: Option<&'a NullBuffer>,
}

impl<T: Copy> Read<'_, T> {
    /// What is made of a row's text.
    pub fn at(&self, row: usize) -> T {
        if self.nulls.is_some_and(|nulls| nulls.is_null(row)) {
            self.null
        } else {
            self.words[self.codes[row] as usize]
        }
    }
}

/// The value of a row, if there is one.
pub fn boolean(values: &BooleanArray, row: usize) -> Option<bool> {
    values.is_valid(row).then(|| values.value(row))
}

/// The number of a row, if there is one.
pub fn short(values: &Int16Array, row: usize) -> Option<i64> {
    values.is_valid(row).then(|| values.value(row).into())
}

/// The number with decimals of a row, if there is one.
pub fn float(values: &Float32Array, row: usize) -> Option<f32> {
    values.is_valid(row).then(|| values.value(row))
}
