//! Rows of a part, a batch at a time.

use std::collections::VecDeque;
use std::ops::Range;

use parquet::arrow::arrow_reader::ParquetRecordBatchReader;

use super::following::Wanted;
use super::{Group, Part};
use crate::chosen_sides::SidesOfSource;
use crate::columns::Rows;
use crate::error::DatasetError;

/// Rows read at once: few enough that their columns stay in the processor's cache.
const BATCH: usize = 16 * 1024;

/// Rows of a part, a batch at a time.
pub struct Batches<'a> {
    pub(super) part: &'a Part,
    /// Sides whose rows are wanted; `None` for all.
    pub(super) chosen: Option<&'a SidesOfSource>,
    /// The columns.
    pub(super) wanted: Wanted,
    /// What is still to be read: a row group, and the rows wanted of it.
    pub(super) pieces: VecDeque<(Group, Range<usize>)>,
    /// Where reading stands: the rest of a piece, and its next row.
    pub(super) reading: Option<(ParquetRecordBatchReader, usize)>,
}

impl Batches<'_> {
    fn open(
        &self,
        group: Group,
        rows: &Range<usize>,
    ) -> Result<ParquetRecordBatchReader, DatasetError> {
        self.part
            .builder(&self.wanted.places, group)?
            .with_offset(rows.start - group.first)
            .with_limit(rows.len())
            .with_batch_size(BATCH.min(rows.len()))
            .build()
            .map_err(|error| self.part.failed(error))
    }
}

impl Iterator for Batches<'_> {
    type Item = Result<Rows, DatasetError>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            if let Some((reader, first)) = &mut self.reading {
                match reader.next() {
                    Some(Ok(batch)) => {
                        let batch = self.part.with_derived(batch, &self.wanted.derived);
                        let batch = match batch.and_then(|batch| self.part.with_bands(batch)) {
                            Ok(batch) => batch,
                            Err(error) => return Some(Err(error)),
                        };
                        let rows = Rows::new(self.part.table.name(), *first, batch);
                        *first += rows.len();
                        let Some(chosen) = self.chosen else {
                            return Some(Ok(rows));
                        };
                        let rows = chosen.passing(&rows).and_then(|passing| {
                            rows.passing(&passing)
                                .map_err(|error| self.part.failed(error.into()))
                        });
                        if rows.as_ref().is_ok_and(Rows::is_empty) {
                            continue;
                        }
                        return Some(rows);
                    }
                    Some(Err(error)) => return Some(Err(self.part.failed(error.into()))),
                    None => {}
                }
            }
            let (group, rows) = self.pieces.pop_front()?;
            match self.open(group, &rows) {
                Ok(reader) => self.reading = Some((reader, rows.start)),
                Err(error) => return Some(Err(error)),
            }
        }
    }
}
