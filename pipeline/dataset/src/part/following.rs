//! Columns of a part that its file does not hold, since they follow from others.

use std::collections::HashMap;
use std::sync::Arc;

use arrow_array::{Array, ArrayRef, RecordBatch};
use arrow_schema::DataType;
use arrow_select::concat::concat;
use hobble_tables::description::DerivedColumn;
use hobble_tables::schema::describe;
use hobble_terms::Table;

use super::Part;
use crate::derived::{self, GAME, GameColumn};
use crate::error::DatasetError;

/// What is read of a file, and what follows from it.
pub(super) struct Wanted {
    /// Places of columns in the file's schema.
    pub(super) places: Vec<usize>,
    /// Columns that follow.
    pub(super) derived: Vec<&'static DerivedColumn>,
}

impl Part {
    /// How to come by some columns.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read, or a column is neither in it nor follows from what is.
    pub(super) fn wanted(&self, columns: &[&str]) -> Result<Wanted, DatasetError> {
        let mut wanted = Wanted {
            places: Vec::with_capacity(columns.len()),
            derived: Vec::new(),
        };
        let known = &describe(self.table).derived;
        for column in columns {
            match (
                self.place_of(column),
                known.iter().find(|one| one.column.name == *column),
            ) {
                (Ok(place), _) => wanted.places.push(place),
                (Err(DatasetError::NoColumn { .. }), Some(one)) => wanted.derived.push(one),
                (Err(error), _) => return Err(error),
            }
        }
        for input in derived::of_row(&wanted.derived) {
            let place = self.place_of(input)?;
            if !wanted.places.contains(&place) {
                wanted.places.push(place);
            }
        }
        Ok(wanted)
    }

    /// Rows with columns that follow from their own and from their games.
    pub(super) fn with_derived(
        &self,
        rows: RecordBatch,
        columns: &[&'static DerivedColumn],
    ) -> Result<RecordBatch, DatasetError> {
        if columns.is_empty() {
            return Ok(rows);
        }
        let mut games = HashMap::new();
        for name in derived::of_game(columns) {
            let column = self.games.column(name, || self.of_games(name))?;
            games.insert(name, column);
        }
        derived::with_derived(rows, columns, &games).map_err(|error| self.failed(error.into()))
    }

    /// A column of the part's games.
    fn of_games(&self, name: &str) -> Result<GameColumn, DatasetError> {
        let games = Part::new(Table::Games, &self.dataset, self.id.clone());
        if !games.path.exists() {
            return Err(DatasetError::NoTable {
                dir: self.dataset.clone(),
                table: Table::Games,
            });
        }
        let (mut numbers, mut values): (Vec<i32>, Vec<ArrayRef>) = (Vec::new(), Vec::new());
        games.each(&[GAME, name], |rows| {
            numbers.extend(rows.signed_fours(GAME)?);
            values.push(rows.column(name)?.clone());
            Ok::<(), DatasetError>(())
        })?;
        if !numbers.is_sorted() {
            return Err(games.holds(GAME, &DataType::Int32));
        }
        let values: Vec<&dyn Array> = values.iter().map(Arc::as_ref).collect();
        let values = concat(&values).map_err(|error| games.failed(error.into()))?;
        Ok(GameColumn::new(&numbers, values))
    }

    /// The columns that rows have, in order: those of the file, and those that follow; name and type.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read.
    pub(crate) fn columns(&self) -> Result<Vec<(String, DataType)>, DatasetError> {
        let fields = self.footer()?.schema().fields();
        let mut columns: Vec<(String, DataType)> = fields
            .iter()
            .map(|field| (field.name().clone(), field.data_type().clone()))
            .collect();
        for one in &describe(self.table).derived {
            let column = &one.column;
            if columns.iter().all(|(name, _)| name != column.name) {
                columns.push((column.name.to_owned(), column.column_type.arrow()));
            }
        }
        Ok(columns)
    }
}
