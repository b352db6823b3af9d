//! One Parquet file of a table, read a row group at a time and in short batches.

mod batches;
mod following;

use std::fs::File;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

use arrow_array::{ArrayRef, RecordBatch, new_empty_array};
use arrow_schema::{DataType, Field, FieldRef, Schema};
use hobble_terms::Table;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReaderBuilder, RowSelection,
};
use parquet::errors::ParquetError;
use parquet::file::reader::SerializedPageReader;
use parquet::file::statistics::Statistics;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use shakmaty::Color;

pub use batches::Batches;

use crate::chosen_sides::{self, SidesOfSource};
use crate::chunks::Chunks;
use crate::columns::Rows;
use crate::derived::GamesOfPart;
use crate::error::DatasetError;
use crate::pick;
use crate::wide_bands;

/// Names a part of a source. The files of all tables with this name are of the same games.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct PartId {
    /// The source: its folder in every table.
    pub source: String,
    /// Number of the part in its source, from 0.
    pub number: u64,
}

impl std::fmt::Display for PartId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "part {} of {}", self.number, self.source)
    }
}

/// One Parquet file of a table.
#[derive(Debug, Clone)]
pub struct Part {
    table: Table,
    id: PartId,
    /// Folder of the tables.
    dataset: PathBuf,
    path: PathBuf,
    /// Read once, at the first use.
    footer: Arc<OnceLock<ArrowReaderMetadata>>,
    /// The sides that are looked at; `None` for all.
    chosen: Option<Arc<SidesOfSource>>,
    /// Width of the rating bands that are read, in points; `None` for that of the file.
    bands: Option<u16>,
    /// What columns that follow from others need of its games.
    games: Arc<GamesOfPart>,
}

/// A row group: its number in the part, its first row there and the number of its rows.
#[derive(Debug, Clone, Copy)]
pub struct Group {
    number: usize,
    /// First row.
    pub first: usize,
    /// Number of rows.
    pub rows: usize,
}

impl Part {
    /// The file of a part in a table of a dataset's folder.
    pub fn new(table: Table, dataset: &Path, id: PartId) -> Part {
        Part {
            table,
            dataset: dataset.to_owned(),
            path: table.part_file(dataset, &id.source, id.number),
            id,
            footer: Arc::default(),
            chosen: None,
            bands: None,
            games: Arc::default(),
        }
    }

    /// The part with rating bands of this width, a multiple of its own.
    pub(crate) fn of_bands(mut self, width: u16) -> Part {
        self.bands = Some(width);
        self
    }

    /// Rows with rating bands of the width asked for.
    fn with_bands(&self, rows: RecordBatch) -> Result<RecordBatch, DatasetError> {
        match self.bands {
            None => Ok(rows),
            Some(width) => {
                wide_bands::widened(rows, width).map_err(|error| self.failed(error.into()))
            }
        }
    }

    /// The part with these sides alone to look at.
    pub(crate) fn of_sides(mut self, sides: Arc<SidesOfSource>) -> Part {
        self.chosen = Some(sides);
        self
    }

    /// The part with all sides to look at.
    #[must_use]
    pub fn of_all_sides(mut self) -> Part {
        self.chosen = None;
        self
    }

    /// The part as it is opened: without what is kept in memory of its file.
    #[must_use]
    pub fn reopened(&self) -> Part {
        Part {
            footer: Arc::default(),
            games: Arc::default(),
            ..self.clone()
        }
    }

    /// Whether all sides are looked at.
    pub(crate) fn looks_at_all(&self) -> bool {
        self.chosen.is_none()
    }

    /// Whether a side of a game is looked at.
    pub fn looks_at(&self, game: u32, color: Color) -> bool {
        let chosen = self.chosen.as_ref();
        chosen.is_none_or(|chosen| chosen.contains(game, color))
    }

    /// Whether a side of a game, or both, is looked at.
    pub fn looks_at_game(&self, game: u32) -> bool {
        Color::ALL
            .into_iter()
            .any(|color| self.looks_at(game, color))
    }

    /// Which part it is.
    pub fn id(&self) -> &PartId {
        &self.id
    }

    /// The source: its folder in every table; not a column of the file.
    pub fn source(&self) -> &str {
        &self.id.source
    }

    /// Where the file is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The row groups, in order.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read.
    pub fn groups(&self) -> Result<Vec<Group>, DatasetError> {
        let mut first = 0;
        let groups = self.footer()?.metadata().row_groups().iter();
        Ok(groups
            .enumerate()
            .map(|(number, group)| {
                let rows = group.num_rows() as usize;
                first += rows;
                Group {
                    number,
                    first: first - rows,
                    rows,
                }
            })
            .collect())
    }

    /// Some columns of a row group, batch by batch.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read or has no such column.
    pub fn read(&self, columns: &[&str], group: Group) -> Result<Batches<'_>, DatasetError> {
        self.read_rows(columns, group.first..group.first + group.rows)
    }

    /// Hands out some columns of all rows, batch by batch in order. The next batch is read meanwhile.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read or has no such column, and what `in_batch` gives.
    pub fn each<E: From<DatasetError> + Send>(
        &self,
        columns: &[&str],
        mut in_batch: impl FnMut(&Rows) -> Result<(), E> + Send,
    ) -> Result<(), E> {
        let mut batches = self.read_rows(columns, 0..usize::MAX)?;
        let mut next = batches.next();
        while let Some(rows) = next {
            let rows = rows?;
            let (read, counted) = rayon::join(|| batches.next(), || in_batch(&rows));
            counted?;
            next = read;
        }
        Ok(())
    }

    /// Counts some columns of all rows. Row groups are taken in runs of neighbours, which are
    /// counted in parallel: each begins with `new`, and they are added up in order. Runs are long:
    /// what they count is much alike, and adding it up costs more than waiting for the last.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read or has no such column, and what `in_batch` gives.
    pub fn count<T: Send, E: From<DatasetError> + Send>(
        &self,
        columns: &[&str],
        new: impl Fn() -> T + Send + Sync,
        in_batch: impl Fn(&Rows, &mut T) -> Result<(), E> + Send + Sync,
        add: impl Fn(&mut T, T) + Send + Sync,
    ) -> Result<T, E> {
        let groups = self.groups()?;
        groups
            .par_chunks(2 * run_length(groups.len()))
            .map(|run| {
                let mut counted = new();
                for &group in run {
                    for rows in self.read(columns, group)? {
                        in_batch(&rows?, &mut counted)?;
                    }
                }
                Ok(counted)
            })
            .try_reduce(&new, |mut sum, counted| {
                add(&mut sum, counted);
                Ok(sum)
            })
    }

    /// Some columns of some rows, batch by batch; no batch goes over the end of a row group. Of a part
    /// with chosen sides rows of the others are passed over.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read or has no such column.
    pub fn read_rows(
        &self,
        columns: &[&str],
        rows: Range<usize>,
    ) -> Result<Batches<'_>, DatasetError> {
        let chosen = self.chosen.as_deref();
        let chosen = chosen.filter(|_| chosen_sides::has_sides(self.table));
        let mut columns = columns.to_vec();
        if chosen.is_some() {
            let missing = chosen_sides::COLUMNS.into_iter();
            let missing: Vec<_> = missing.filter(|name| !columns.contains(name)).collect();
            columns.extend(missing);
        }
        Ok(Batches {
            part: self,
            chosen,
            wanted: self.wanted(&columns)?,
            pieces: self
                .groups()?
                .into_iter()
                .filter_map(|group| {
                    let end = rows.end.min(group.first + group.rows);
                    let first = rows.start.max(group.first);
                    (first < end).then_some((group, first..end))
                })
                .collect(),
            reading: None,
        })
    }

    /// Some columns of some rows of a row group; their places in the part go up.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read or has no such column.
    pub fn pick(
        &self,
        columns: &[&str],
        group: Group,
        places: &[usize],
    ) -> Result<Rows, DatasetError> {
        let footer = self.footer()?;
        let chunks = footer.metadata().row_group(group.number);
        let rows: Vec<usize> = places.iter().map(|place| place - group.first).collect();
        let failed = |error| self.failed(error);
        let wanted = self.wanted(columns)?;
        let bytes = Arc::new(Chunks::read(self.file()?, chunks, &wanted.places).map_err(failed)?);
        let mut picked: Vec<(FieldRef, Option<ArrayRef>)> = Vec::with_capacity(columns.len());
        for place in wanted.places {
            let field = footer.schema().fields()[place].clone();
            let chunk = chunks.column(place);
            let mut pages = SerializedPageReader::new(bytes.clone(), chunk, group.rows, None)
                .map_err(failed)?;
            let values = pick::values(&mut pages, field.is_nullable(), field.data_type(), &rows);
            picked.push((field, values.map_err(failed)?));
        }
        let others: Vec<&str> = picked
            .iter()
            .filter(|(_, values)| values.is_none())
            .map(|(field, _)| field.name().as_str())
            .collect();
        let general = if others.is_empty() {
            None
        } else {
            let ranges = rows.iter().map(|&row| row..row + 1);
            let selection = RowSelection::from_consecutive_ranges(ranges, group.rows);
            self.builder(&self.places_of(&others)?, group)?
                .with_row_selection(selection)
                .with_batch_size(rows.len().max(1))
                .build()
                .map_err(failed)?
                .next()
                .transpose()
                .map_err(|error| failed(error.into()))?
        };
        let (fields, values): (Vec<FieldRef>, Vec<Option<ArrayRef>>) = picked.into_iter().unzip();
        let values = fields.iter().zip(values).map(|(field, values)| {
            let of_general = || general.as_ref()?.column_by_name(field.name()).cloned();
            values
                .or_else(of_general)
                .unwrap_or_else(|| new_empty_array(field.data_type()))
        });
        let batch = RecordBatch::try_new(Arc::new(Schema::new(fields.clone())), values.collect());
        let batch = batch.map_err(|error| failed(error.into()))?;
        let batch = self.with_bands(self.with_derived(batch, &wanted.derived)?)?;
        Ok(Rows::picked(self.table.name(), places.to_vec(), batch))
    }

    /// Some columns of one row.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read or has no such column or row.
    pub fn read_row(&self, columns: &[&str], row: usize) -> Result<Rows, DatasetError> {
        let mut batches = self.read_rows(columns, row..row + 1)?;
        batches.next().unwrap_or_else(|| {
            let what = format!("there is no row {row}");
            Err(self.failed(ParquetError::General(what)))
        })
    }

    /// Whether a column of a row group can hold a number, by what the file says of its bounds.
    pub fn may_hold(&self, group: Group, column: &str, number: u64) -> Result<bool, DatasetError> {
        let footer = self.footer()?;
        let Ok(place) = footer.schema().index_of(column) else {
            return Ok(true);
        };
        let group = footer.metadata().row_group(group.number);
        Ok(match group.column(place).statistics() {
            // Numbers of games, which are not below 0.
            Some(Statistics::Int32(bounds)) => match (bounds.min_opt(), bounds.max_opt()) {
                (Some(&low), Some(&high)) => {
                    (u64::from(low as u32)..=u64::from(high as u32)).contains(&number)
                }
                _ => true,
            },
            _ => true,
        })
    }

    /// The error of a column whose type no table has.
    pub(crate) fn holds(&self, column: &str, found: &DataType) -> DatasetError {
        DatasetError::BadTable {
            table: self.table.name(),
            what: format!("column \"{column}\" holds {found}, which it cannot"),
        }
    }

    fn place_of(&self, column: &str) -> Result<usize, DatasetError> {
        let place = self.footer()?.schema().index_of(column);
        place.map_err(|_| DatasetError::NoColumn {
            path: self.path.clone(),
            column: column.to_owned(),
        })
    }

    fn places_of(&self, columns: &[&str]) -> Result<Vec<usize>, DatasetError> {
        columns.iter().map(|name| self.place_of(name)).collect()
    }

    /// A reader of some columns of a row group. The tables are flat: the place of a column is that
    /// of its bytes as well.
    fn builder(
        &self,
        columns: &[usize],
        group: Group,
    ) -> Result<ParquetRecordBatchReaderBuilder<Chunks>, DatasetError> {
        let footer = self.footer()?.clone();
        let chunks = footer.metadata().row_group(group.number);
        let bytes = Chunks::read(self.file()?, chunks, columns);
        let bytes = bytes.map_err(|error| self.failed(error))?;
        let mask = ProjectionMask::roots(footer.parquet_schema(), columns.iter().copied());
        Ok(
            ParquetRecordBatchReaderBuilder::new_with_metadata(bytes, footer)
                .with_projection(mask)
                .with_row_groups(vec![group.number]),
        )
    }

    fn footer(&self) -> Result<&ArrowReaderMetadata, DatasetError> {
        if let Some(footer) = self.footer.get() {
            return Ok(footer);
        }
        let footer = self.read_footer()?;
        Ok(self.footer.get_or_init(|| footer))
    }

    fn read_footer(&self) -> Result<ArrowReaderMetadata, DatasetError> {
        let file = self.file()?;
        let failed = |error| self.failed(error);
        let options = ArrowReaderOptions::new().with_skip_arrow_metadata(true);
        let footer = ArrowReaderMetadata::load(&file, options).map_err(failed)?;
        let about = footer.metadata().file_metadata().key_value_metadata();
        let found = about
            .into_iter()
            .flatten()
            .find(|pair| pair.key == "hobble.definitions")
            .and_then(|pair| pair.value.as_ref()?.parse().ok())
            .unwrap_or(0);
        if found != hobble_terms::DEFINITIONS {
            return Err(DatasetError::Definitions {
                path: self.path.clone(),
                found,
                expected: hobble_terms::DEFINITIONS,
            });
        }
        // Texts stay numbers with a list of words, as the file has them.
        let fields: Vec<Field> = footer
            .schema()
            .fields()
            .iter()
            .map(|field| match field.data_type() {
                DataType::Utf8 => {
                    let words = DataType::Dictionary(DataType::Int32.into(), DataType::Utf8.into());
                    field.as_ref().clone().with_data_type(words)
                }
                _ => field.as_ref().clone(),
            })
            .collect();
        let options = ArrowReaderOptions::new().with_schema(Arc::new(Schema::new(fields)));
        ArrowReaderMetadata::try_new(footer.metadata().clone(), options).map_err(failed)
    }

    fn file(&self) -> Result<File, DatasetError> {
        File::open(&self.path).map_err(|error| self.failed(error.into()))
    }

    pub(crate) fn failed(&self, source: ParquetError) -> DatasetError {
        DatasetError::Table {
            path: self.path.clone(),
            source,
        }
    }
}

/// Into how long runs of neighbours row groups are cut, so that every thread has a few.
pub fn run_length(groups: usize) -> usize {
    groups.div_ceil(4 * rayon::current_num_threads()).max(1)
}
