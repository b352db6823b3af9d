//! Counts as bytes: those that are not nought, each with its column, in numbers of seven bits a byte.

use super::count::Count;
use hobble_terms::leb128;

/// Counts row by row.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CountBytes {
    bytes: Vec<u8>,
    /// Where each row ends.
    ends: Vec<u32>,
}

impl CountBytes {
    /// Adds a row: a count for each column.
    pub fn push(&mut self, counts: &[Count]) {
        for (column, count) in counts.iter().enumerate() {
            if *count != Count::default() {
                for number in [column as u64, count.rows, count.turns] {
                    leb128::write(&mut self.bytes, number);
                }
            }
        }
        self.end();
    }

    /// Adds a row of another.
    pub fn push_bytes(&mut self, row: &[u8]) {
        self.bytes.extend_from_slice(row);
        self.end();
    }

    fn end(&mut self) {
        self.ends.push(self.bytes.len() as u32);
    }

    /// The bytes of a row, for [`read`].
    pub fn row(&self, row: usize) -> &[u8] {
        let start = match row.checked_sub(1) {
            Some(before) => self.ends[before] as usize,
            None => 0,
        };
        &self.bytes[start..self.ends[row] as usize]
    }

    /// Gives back room that is not used.
    pub fn shrink(&mut self) {
        self.bytes.shrink_to_fit();
        self.ends.shrink_to_fit();
    }
}

/// The counts of a row that are not nought, with their columns.
pub fn read(mut bytes: &[u8]) -> impl Iterator<Item = (usize, Count)> {
    std::iter::from_fn(move || {
        let mut next = || leb128::read(&mut bytes);
        let column = next()? as usize;
        let (rows, turns) = (next()?, next()?);
        Some((column, Count { rows, turns }))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_is_written_is_read(
            rows in prop::collection::vec(prop::collection::vec((any::<u64>(), any::<u64>(), any::<bool>()), 0..20), 1..9),
        ) {
            let count = |&(rows, turns, some): &(u64, u64, bool)| match some {
                true => Count { rows, turns: turns >> (rows % 64) },
                false => Count::default(),
            };
            let rows: Vec<Vec<Count>> = rows.iter().map(|row| row.iter().map(count).collect()).collect();
            let mut written = CountBytes::default();
            for row in &rows {
                written.push(row);
            }
            for (at, row) in rows.iter().enumerate() {
                let some = row.iter().copied().enumerate().filter(|one| one.1 != Count::default());
                prop_assert!(read(written.row(at)).eq(some));
            }
        }
    }
}
