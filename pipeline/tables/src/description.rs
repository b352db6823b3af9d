//! What a table and its columns hold: the form that schema files, dictionary and codebook
//! are made from.

use std::borrow::Cow;

use arrow_schema::DataType;
use hobble_terms::Table;
use serde::Serialize;

use crate::formula::Formula;

/// Description of a table, in the form of its schema file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TableDescription {
    /// The table.
    pub table: Table,
    /// Version of its columns.
    pub schema: u32,
    /// Version of the definitions.
    pub definitions: u32,
    /// What a row is.
    pub text: &'static str,
    /// The columns that identify a row.
    pub row: &'static str,
    /// The columns, in order.
    pub columns: Vec<ColumnDescription>,
    /// Columns that are not in the files, since they follow from others.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub derived: Vec<DerivedColumn>,
}

/// Description of a column.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ColumnDescription {
    /// Name.
    pub name: &'static str,
    /// Type.
    #[serde(rename = "type")]
    pub column_type: ColumnType,
    /// Unit of the values; empty for none.
    pub unit: &'static str,
    /// What a null means; [`NEVER`] for a column without nulls.
    pub null: &'static str,
    /// What a value is.
    pub text: Cow<'static, str>,
    /// The words that occur, where they are few.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub values: Vec<&'static str>,
    /// How the general Parquet writer stores it.
    #[serde(skip)]
    pub storage: Storage,
}

/// A column that follows from others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DerivedColumn {
    /// What it holds.
    #[serde(flatten)]
    pub column: ColumnDescription,
    /// What it is.
    pub is: Formula,
}

/// Meaning of a null in the description of a column without nulls.
pub const NEVER: &str = "never";

impl ColumnDescription {
    /// Whether a value may be missing.
    pub fn is_nullable(&self) -> bool {
        self.null != NEVER
    }
}

/// Type of a column, under its name in the schema files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)]
pub enum ColumnType {
    Int8,
    Int16,
    Int32,
    Int64,
    Uint64,
    Float32,
    Boolean,
    Utf8,
    /// Text out of a fixed list of words.
    Dictionary,
}

impl ColumnType {
    /// Name in the schema files.
    pub const fn name(self) -> &'static str {
        match self {
            ColumnType::Int8 => "int8",
            ColumnType::Int16 => "int16",
            ColumnType::Int32 => "int32",
            ColumnType::Int64 => "int64",
            ColumnType::Uint64 => "uint64",
            ColumnType::Float32 => "float32",
            ColumnType::Boolean => "boolean",
            ColumnType::Utf8 => "utf8",
            ColumnType::Dictionary => "dictionary",
        }
    }

    /// The type that a file of the table says its column has in Arrow. Words are a dictionary,
    /// so that they arrive as categories.
    pub fn arrow(self) -> DataType {
        match self {
            ColumnType::Int8 => DataType::Int8,
            ColumnType::Int16 => DataType::Int16,
            ColumnType::Int32 => DataType::Int32,
            ColumnType::Int64 => DataType::Int64,
            ColumnType::Uint64 => DataType::UInt64,
            ColumnType::Float32 => DataType::Float32,
            ColumnType::Boolean => DataType::Boolean,
            ColumnType::Utf8 => DataType::Utf8,
            ColumnType::Dictionary => {
                DataType::Dictionary(DataType::Int32.into(), DataType::Utf8.into())
            }
        }
    }
}

/// How the general Parquet writer stores a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Storage {
    /// As places in a dictionary.
    Dictionary,
    /// As differences of neighbours.
    Differences,
    /// One value after the other.
    Plain,
}
