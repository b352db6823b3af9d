//! Row tables as lazy frames of polars, for reports that filter, join and group them.
//!
//! A frame reads what its query asks for: the columns it names, row group by row group on all threads,
//! and of each group only the rows that pass the filters polars moves down to the scan. The files are
//! read by the reader of [`Part`], so a frame refuses what the batch reader refuses.
//!
//! Columns are those of the table behind a column `source`. Whole numbers of one and two bytes have
//! four in a frame, so that polars is not compiled for each width. Rows come in the order of the parts.
//!
//! Polars is compiled without optimisation (`Cargo.toml`): filters are quick, joins and groups of millions
//! of rows are not. Those are counted batch by batch ([`Part::count`]).
//!
//! ```no_run
//! use hobble_dataset::Dataset;
//! use hobble_dataset::frame::{collect, text_is};
//! use hobble_terms::Table;
//! use polars::prelude::{col, len};
//!
//! # fn main() -> Result<(), hobble_dataset::DatasetError> {
//! // Games with an ECO code of the letter C, by source, and the mean of White's ratings.
//! let of_c = text_is("eco", |eco| eco.is_some_and(|eco| eco.starts_with('C')));
//! let by_source = Dataset::open("data")?
//!     .frame(Table::Games)?
//!     .filter(of_c)
//!     .group_by([col("source")])
//!     .agg([len().alias("games"), col("white_rating").mean()]);
//! println!("{:?}", collect(by_source)?);
//! # Ok(())
//! # }
//! ```

use std::any::Any;
use std::collections::BTreeSet;
use std::io;
use std::ops::Range;
use std::sync::Arc;

use arrow_array::cast::AsArray;
use arrow_array::types::{
    ArrowPrimitiveType, Float32Type, Int8Type, Int16Type, Int32Type, Int64Type, UInt64Type,
};
use arrow_array::{Array, ArrayRef, BooleanArray};
use arrow_schema::DataType as FileType;
use hobble_terms::Table;
use polars::prelude::{
    AnonymousScan, AnonymousScanArgs, BooleanChunked, ChunkedArray, Column, DataFrame, DataType,
    Expr, Field, Float32Chunked, Int32Chunked, Int64Chunked, IntoColumn, IntoLazy, LazyFrame,
    PlSmallStr, PolarsError, PolarsNumericType, PolarsResult, Scalar, ScanArgsAnonymous, Schema,
    SchemaRef, StringChunked, UInt64Chunked, col,
};
use rayon::prelude::*;

use crate::columns::Rows;
use crate::dataset::Dataset;
use crate::error::DatasetError;
use crate::part::{Group, Part};

/// The column that names the source: the folder of the part, not a column of its file.
pub const SOURCE: &str = "source";

impl Dataset {
    /// The rows of a table, of all its parts.
    ///
    /// # Errors
    ///
    /// Where the table was not written, or its first file cannot be read. The other files are read
    /// when the frame is collected.
    pub fn frame(&self, table: Table) -> Result<LazyFrame, DatasetError> {
        of_parts(self.parts(table)?)
    }
}

impl Part {
    /// The rows of this part alone.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read.
    pub fn frame(&self) -> Result<LazyFrame, DatasetError> {
        of_parts(vec![self.clone()])
    }
}

/// Whether the number in a column of a table is accepted; a null is not.
pub fn number_is(column: &str, accepted: impl Fn(i32) -> bool + Send + Sync + 'static) -> Expr {
    let accepted = move |numbers: Column| {
        let of = |number: Option<i32>| Some(number.is_some_and(&accepted));
        let accepted: BooleanChunked = numbers.i32()?.iter().map(of).collect();
        Ok(accepted.into_column())
    };
    col(column).map(accepted, as_boolean)
}

/// Whether the text in a column of a table is accepted.
pub fn text_is(
    column: &str,
    accepted: impl Fn(Option<&str>) -> bool + Send + Sync + 'static,
) -> Expr {
    let accepted = move |texts: Column| {
        let of = |text| Some(accepted(text));
        let accepted: BooleanChunked = texts.str()?.iter().map(of).collect();
        Ok(accepted.into_column())
    };
    col(column).map(accepted, as_boolean)
}

fn as_boolean(_: &Schema, of: &Field) -> PolarsResult<Field> {
    Ok(Field::new(of.name().clone(), DataType::Boolean))
}

/// The rows that a frame's query asks for.
///
/// # Errors
///
/// Where a file cannot be read, as the batch reader says it; [`DatasetError::Frame`] where the query
/// does not fit the table.
pub fn collect(frame: LazyFrame) -> Result<DataFrame, DatasetError> {
    frame.collect().map_err(of_polars)
}

fn of_parts(parts: Vec<Part>) -> Result<LazyFrame, DatasetError> {
    let mut schema = Schema::default();
    schema.with_column(SOURCE.into(), DataType::String);
    if let Some(first) = parts.first() {
        for (name, file_type) in first.columns()? {
            let Some(data_type) = frame_type(&file_type) else {
                return Err(first.holds(&name, &file_type));
            };
            schema.with_column(name.into(), data_type);
        }
    }
    let options = ScanArgsAnonymous {
        schema: Some(Arc::new(schema)),
        name: "TABLE",
        ..ScanArgsAnonymous::default()
    };
    LazyFrame::anonymous_scan(Arc::new(Scan { parts }), options).map_err(of_polars)
}

/// The error of the reader that a query came upon, or the query's own.
fn of_polars(error: PolarsError) -> DatasetError {
    match error {
        PolarsError::Context { error, .. } => of_polars(*error),
        PolarsError::IO { error, msg } => {
            let inner = Arc::try_unwrap(error).map(io::Error::downcast::<DatasetError>);
            match inner {
                Ok(Ok(of_reader)) => of_reader,
                Ok(Err(error)) => DatasetError::Frame(PolarsError::IO {
                    error: Arc::new(error),
                    msg,
                }),
                Err(error) => DatasetError::Frame(PolarsError::IO { error, msg }),
            }
        }
        error => DatasetError::Frame(error),
    }
}

impl From<DatasetError> for PolarsError {
    /// Carries an error of the reader through a query; [`collect`] gives it back.
    fn from(error: DatasetError) -> PolarsError {
        match error {
            DatasetError::Frame(error) => error,
            error => PolarsError::from(io::Error::other(error)),
        }
    }
}

impl From<PolarsError> for DatasetError {
    fn from(error: PolarsError) -> DatasetError {
        of_polars(error)
    }
}

/// The parts a frame reads.
struct Scan {
    parts: Vec<Part>,
}

impl AnonymousScan for Scan {
    fn as_any(&self) -> &dyn Any {
        self
    }

    fn allows_projection_pushdown(&self) -> bool {
        true
    }

    fn allows_predicate_pushdown(&self) -> bool {
        true
    }

    fn scan(&self, asked: AnonymousScanArgs) -> PolarsResult<DataFrame> {
        let schema = asked_schema(&asked)?;
        let mut left = asked.n_rows.unwrap_or(usize::MAX);
        let mut pieces = Vec::new();
        for (number, group) in groups(&self.parts)? {
            let part = &self.parts[number];
            let rows = group.rows.min(left);
            // How many rows of chosen sides there are is known when they are read.
            if part.looks_at_all() {
                left -= rows;
            }
            if rows > 0 {
                pieces.push((part, group.first..group.first + rows));
            }
        }
        let frames: Vec<DataFrame> = pieces
            .into_par_iter()
            .map(|(part, rows)| piece(part, rows, &schema, asked.predicate.as_ref()))
            .collect::<PolarsResult<_>>()?;
        let mut frames = frames.into_iter();
        let Some(mut all) = frames.next() else {
            return Ok(DataFrame::empty_with_schema(&schema));
        };
        for frame in frames {
            all.vstack_mut_owned(frame)?;
        }
        Ok(match asked.n_rows {
            Some(rows) => all.head(Some(rows)),
            None => all,
        })
    }
}

/// The row groups of some parts, each with the number of its part.
fn groups(parts: &[Part]) -> Result<Vec<(usize, Group)>, DatasetError> {
    let mut all = Vec::new();
    for (number, part) in parts.iter().enumerate() {
        all.extend(part.groups()?.into_iter().map(|group| (number, group)));
    }
    Ok(all)
}

/// The columns that are asked for, in their order.
fn asked_schema(asked: &AnonymousScanArgs) -> PolarsResult<SchemaRef> {
    match (&asked.output_schema, &asked.with_columns) {
        (Some(schema), _) => Ok(schema.clone()),
        (None, Some(names)) => {
            let schema = asked.schema.try_project(names.iter().cloned());
            Ok(Arc::new(schema?))
        }
        (None, None) => Ok(asked.schema.clone()),
    }
}

/// Some rows of a row group that pass the filter. Only columns of the filter are converted before it is
/// known which rows do.
fn piece(
    part: &Part,
    rows: Range<usize>,
    schema: &Schema,
    filter: Option<&Expr>,
) -> PolarsResult<DataFrame> {
    let in_file: Vec<&str> = schema
        .iter_names()
        .map(PlSmallStr::as_str)
        .filter(|name| *name != SOURCE)
        .collect();
    let read: Vec<Rows> = part
        .read_rows(&in_file, rows)?
        .collect::<Result<_, DatasetError>>()?;
    let height = read.iter().map(Rows::len).sum();
    let whole = |batch: usize, name: &str| Ok(read[batch].column(name)?.clone());
    let Some(filter) = filter else {
        return frame_of(part, read.len(), schema, height, whole);
    };
    let names = filter
        .into_iter()
        .filter_map(|expression| match expression {
            Expr::Column(name) => Some(name.clone()),
            _ => None,
        });
    let asked = schema.try_project(names.collect::<BTreeSet<_>>())?;
    let asked = frame_of(part, read.len(), &asked, height, whole)?;
    let passed = asked.lazy().select([filter.clone()]).collect()?;
    let passed = passing(&passed)?;
    let passed = |row: usize| passed.get(row).or(passed.last()).copied().unwrap_or(false);
    let kept = (0..height).filter(|row| passed(*row)).count();
    if kept == height {
        return frame_of(part, read.len(), schema, height, whole);
    }
    let mut first = 0;
    let passed_of = |rows: &Rows| -> BooleanArray {
        let of_batch = first..first + rows.len();
        first = of_batch.end;
        of_batch.map(|row| Some(passed(row))).collect()
    };
    let passed: Vec<BooleanArray> = read.iter().map(passed_of).collect();
    let some = |batch: usize, name: &str| {
        let values = arrow_select::filter::filter(read[batch].column(name)?, &passed[batch]);
        values.map_err(|error| part.failed(error.into()))
    };
    frame_of(part, read.len(), schema, kept, some)
}

/// Whether each row passes, by the only column of a frame: one value may stand for all rows.
fn passing(frame: &DataFrame) -> PolarsResult<Vec<bool>> {
    let column = frame.select_at_idx(0).map(Column::bool).transpose()?;
    let values = column.into_iter().flat_map(BooleanChunked::iter);
    Ok(values.map(|passes| passes == Some(true)).collect())
}

/// A frame of `height` rows of these columns; `values` gives those of a column in a batch, by the
/// batch's number.
fn frame_of(
    part: &Part,
    batches: usize,
    schema: &Schema,
    height: usize,
    values: impl Fn(usize, &str) -> Result<ArrayRef, DatasetError>,
) -> PolarsResult<DataFrame> {
    if height == 0 {
        return Ok(DataFrame::empty_with_schema(schema));
    }
    let mut columns = Vec::with_capacity(schema.len());
    for name in schema.iter_names() {
        if name == SOURCE {
            let source = Scalar::from(PlSmallStr::from_str(part.source()));
            columns.push(Column::new_scalar(SOURCE.into(), source, height));
            continue;
        }
        let mut sum: Option<Column> = None;
        for batch in 0..batches {
            let values = values(batch, name)?;
            let column = column(part, name, &values)?;
            match &mut sum {
                None => sum = Some(column),
                Some(sum) => {
                    sum.append_owned(column)?;
                }
            }
        }
        columns.extend(sum);
    }
    DataFrame::new_with_height(height, columns)
}

/// The type in a frame of a type in a file.
fn frame_type(file_type: &FileType) -> Option<DataType> {
    match file_type {
        FileType::UInt64 => Some(DataType::UInt64),
        FileType::Int64 => Some(DataType::Int64),
        FileType::Int8 | FileType::Int16 | FileType::Int32 => Some(DataType::Int32),
        FileType::Float32 => Some(DataType::Float32),
        FileType::Boolean => Some(DataType::Boolean),
        FileType::Dictionary(_, words) if **words == FileType::Utf8 => Some(DataType::String),
        _ => None,
    }
}

fn column(part: &Part, name: &str, array: &ArrayRef) -> Result<Column, DatasetError> {
    let column: Option<Column> = match array.data_type() {
        FileType::Int64 => numbers::<Int64Type, _>(array).map(Int64Chunked::into_column),
        FileType::UInt64 => numbers::<UInt64Type, _>(array).map(UInt64Chunked::into_column),
        FileType::Int8 => numbers::<Int8Type, _>(array).map(Int32Chunked::into_column),
        FileType::Int16 => numbers::<Int16Type, _>(array).map(Int32Chunked::into_column),
        FileType::Int32 => numbers::<Int32Type, _>(array).map(Int32Chunked::into_column),
        FileType::Float32 => numbers::<Float32Type, _>(array).map(Float32Chunked::into_column),
        FileType::Boolean => array.as_boolean_opt().map(|values| {
            let values: BooleanChunked = values.iter().collect();
            values.into_column()
        }),
        _ => texts(array).map(StringChunked::into_column),
    };
    let mut column = column.ok_or_else(|| part.holds(name, array.data_type()))?;
    column.rename(name.into());
    Ok(column)
}

/// Numbers, as wide as a frame has them.
fn numbers<From, To>(array: &ArrayRef) -> Option<ChunkedArray<To>>
where
    From: ArrowPrimitiveType,
    To: PolarsNumericType,
    To::Native: std::convert::From<From::Native>,
{
    let values = array.as_primitive_opt::<From>()?;
    Some(if values.null_count() == 0 {
        let wide = values.values().iter().map(|value| (*value).into());
        ChunkedArray::from_vec(PlSmallStr::EMPTY, wide.collect())
    } else {
        values.iter().map(|value| Some(value?.into())).collect()
    })
}

fn texts(array: &ArrayRef) -> Option<StringChunked> {
    let coded = array.as_dictionary_opt::<Int32Type>()?;
    let words = coded.values().as_string_opt::<i32>()?;
    let codes = coded.keys().iter();
    Some(
        codes
            .map(|code| Some(words.value(usize::try_from(code?).ok()?)))
            .collect(),
    )
}
