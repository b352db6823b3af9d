//! The columns of a table as readers name them, with the type of their values.

use std::marker::PhantomData;

use arrow_array::cast::AsArray as _;
use arrow_array::types::{Float32Type, Int8Type, Int16Type, Int32Type, Int64Type, UInt64Type};
use arrow_array::{Array, BooleanArray, PrimitiveArray, RecordBatch, StringArray};
use hobble_terms::Table;

use crate::description::ColumnType;
use crate::words::Words;

/// A column of a table, with the type of its values; nullable ones are an [`Option`].
///
/// Only the declaration of a table makes columns, so that a wrong name or type does not
/// compile:
///
/// ```
/// use hobble_tables::column::Column;
/// use hobble_tables::spells::SPELLS;
///
/// let start: Column<i16> = SPELLS.start_ply;
/// assert_eq!(start.name(), "start_ply");
/// let net: Column<Option<i16>> = SPELLS.net;
/// assert_eq!(net.table().name(), "spells");
/// ```
///
/// ```compile_fail
/// use hobble_tables::column::Column;
/// use hobble_tables::spells::SPELLS;
///
/// let start: Column<i8> = SPELLS.start_ply;
/// ```
pub struct Column<T> {
    table: Table,
    name: &'static str,
    values: PhantomData<fn() -> T>,
}

impl<T> Clone for Column<T> {
    fn clone(&self) -> Column<T> {
        *self
    }
}

impl<T> Copy for Column<T> {}

impl<T> Column<T> {
    /// A column of a declared table.
    pub(crate) const fn new(table: Table, name: &'static str) -> Column<T> {
        Column {
            table,
            name,
            values: PhantomData,
        }
    }

    /// Its table.
    pub const fn table(self) -> Table {
        self.table
    }

    /// Its name in the files.
    pub const fn name(self) -> &'static str {
        self.name
    }
}

impl<T: Value> Column<T> {
    /// The column among rows read from a file; `None` if the rows lack it, or if its type or a
    /// null is not as declared.
    pub fn of(self, rows: &RecordBatch) -> Option<&T::Array> {
        let column = rows.column_by_name(self.name)?;
        let as_declared = T::NULLABLE || column.null_count() == 0;
        as_declared.then(|| T::array(column)).flatten()
    }
}

/// A type of values in a column.
pub trait Value: 'static {
    /// The Arrow array of such values.
    type Array: Array + 'static;
    /// The type in the schema.
    const TYPE: ColumnType;
    /// Whether nulls occur among them.
    const NULLABLE: bool = false;

    /// An array as one of such values; `None` if it holds others.
    fn array(array: &dyn Array) -> Option<&Self::Array>;

    /// The words that occur, where the schema lists them.
    fn listed() -> Vec<&'static str> {
        Vec::new()
    }
}

/// Numbers.
macro_rules! numbers {
    ($($value:ty, $arrow:ty, $type:ident;)+) => {
        $(
            impl Value for $value {
                type Array = PrimitiveArray<$arrow>;
                const TYPE: ColumnType = ColumnType::$type;

                fn array(array: &dyn Array) -> Option<&Self::Array> {
                    array.as_primitive_opt()
                }
            }
        )+
    };
}

numbers! {
    i8, Int8Type, Int8;
    i16, Int16Type, Int16;
    i32, Int32Type, Int32;
    i64, Int64Type, Int64;
    u64, UInt64Type, Uint64;
    f32, Float32Type, Float32;
}

impl Value for bool {
    type Array = BooleanArray;
    const TYPE: ColumnType = ColumnType::Boolean;

    fn array(array: &dyn Array) -> Option<&Self::Array> {
        array.as_boolean_opt()
    }
}

/// Free text.
pub struct Text;

impl Value for Text {
    type Array = StringArray;
    const TYPE: ColumnType = ColumnType::Utf8;

    fn array(array: &dyn Array) -> Option<&Self::Array> {
        array.as_string_opt()
    }
}

impl<W: Words> Value for W {
    type Array = StringArray;
    const TYPE: ColumnType = ColumnType::Dictionary;

    fn array(array: &dyn Array) -> Option<&Self::Array> {
        array.as_string_opt()
    }

    fn listed() -> Vec<&'static str> {
        W::listed()
    }
}

impl<T: Value> Value for Option<T> {
    type Array = T::Array;
    const TYPE: ColumnType = T::TYPE;
    const NULLABLE: bool = true;

    fn array(array: &dyn Array) -> Option<&Self::Array> {
        T::array(array)
    }

    fn listed() -> Vec<&'static str> {
        T::listed()
    }
}
