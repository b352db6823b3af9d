//! The bytes of some columns of a row group, read in few pieces.
//!
//! The reader of the library asks a file for each page twice, for its header and for its values,
//! and each time with a handle and a buffer of its own. A column holds a few short pages, so that
//! this took a fifth of the time of a claim.

use std::fs::File;
use std::io::{Cursor, Read, Seek, SeekFrom};
use std::ops::Range;

use bytes::Bytes;
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::RowGroupMetaData;
use parquet::file::reader::{ChunkReader, Length};

/// Bytes between two wanted columns that are read with them, rather than in two pieces.
const GAP: u64 = 4 * 1024;

/// The columns' bytes: pieces of the file, in its order.
#[derive(Debug)]
pub struct Chunks {
    /// Length of the file.
    length: u64,
    pieces: Vec<(u64, Bytes)>,
}

impl Chunks {
    /// Reads the columns at these places of a row group.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read or ends too soon.
    pub fn read(mut file: File, group: &RowGroupMetaData, columns: &[usize]) -> Result<Chunks> {
        let ranges = columns.iter().map(|&place| {
            let (start, length) = group.column(place).byte_range();
            start..start.saturating_add(length)
        });
        let length = Length::len(&file);
        let mut pieces = Vec::new();
        for range in joined(ranges.collect()) {
            if range.end > length {
                return Err(ParquetError::EOF(format!(
                    "a column ends at byte {}, the file at byte {length}",
                    range.end
                )));
            }
            // The file's length bounds it.
            let mut bytes = vec![0; (range.end - range.start) as usize];
            file.seek(SeekFrom::Start(range.start))?;
            file.read_exact(&mut bytes)?;
            pieces.push((range.start, bytes.into()));
        }
        Ok(Chunks { length, pieces })
    }

    /// From a place in the file to the end of the piece that holds it.
    fn from(&self, start: u64) -> Result<Bytes> {
        let behind = self.pieces.partition_point(|piece| piece.0 <= start);
        let piece = self.pieces[..behind].last();
        let rest = piece.and_then(|(first, bytes)| {
            let from = usize::try_from(start - first).ok()?;
            (from <= bytes.len()).then(|| bytes.slice(from..))
        });
        rest.ok_or_else(|| ParquetError::General(format!("byte {start} is in none of its columns")))
    }
}

/// Ranges in order, joined where little lies between them.
fn joined(mut ranges: Vec<Range<u64>>) -> Vec<Range<u64>> {
    ranges.sort_unstable_by_key(|range| range.start);
    let mut all: Vec<Range<u64>> = Vec::new();
    for range in ranges {
        match all.last_mut() {
            Some(last) if range.start <= last.end.saturating_add(GAP) => {
                last.end = last.end.max(range.end);
            }
            _ => all.push(range),
        }
    }
    all
}

impl Length for Chunks {
    fn len(&self) -> u64 {
        self.length
    }
}

impl ChunkReader for Chunks {
    type T = Cursor<Bytes>;

    fn get_read(&self, start: u64) -> Result<Self::T> {
        Ok(Cursor::new(self.from(start)?))
    }

    fn get_bytes(&self, start: u64, length: usize) -> Result<Bytes> {
        let rest = self.from(start)?;
        if rest.len() < length {
            return Err(ParquetError::EOF(format!(
                "{length} bytes were wanted at byte {start}, {} are there",
                rest.len()
            )));
        }
        Ok(rest.slice(..length))
    }
}

#[cfg(test)]
mod tests {
    use super::joined;

    #[test]
    fn neighbours_are_read_together() {
        let far = 10 * super::GAP;
        let found = joined(vec![far..far + 5, 4..40, 44..80]);
        assert_eq!(found, [4..80, far..far + 5]);
        let found = joined(vec![4..80, 10..20, far..far + 5]);
        assert_eq!(found, [4..80, far..far + 5]);
        assert!(joined(Vec::new()).is_empty());
    }
}
