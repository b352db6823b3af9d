//! Counts packed for a page: numbers of seven bits a byte, the lowest first, the eighth bit set where more
//! follow.

use std::collections::BTreeMap;

use super::super::count::Count;

/// Adds a number.
pub fn put(bytes: &mut Vec<u8>, mut number: u64) {
    while number > 127 {
        bytes.push(number as u8 & 127 | 128);
        number >>= 7;
    }
    bytes.push(number as u8);
}

/// Adds the counts of a side by fold: the number of folds; for each the steps from the fold before, and
/// the rows of all pieces and of those to whom each event came. Events stand in groups of `horizons`, of
/// each of which the one before is taken off. Of a count the rows at a landmark come first, which stand
/// for themselves, and then the rows of the sample, which stand for `sample`.
pub fn put_side<'a>(
    bytes: &mut Vec<u8>,
    side: impl ExactSizeIterator<Item = (u8, &'a [Count])>,
    (horizons, sample): (usize, u64),
) {
    put_folds(bytes, side, |bytes, counts| {
        let mut before = [0; 2];
        for (column, count) in counts.iter().enumerate() {
            let rows = parted(*count, sample);
            if column == 0 || (column - 1).is_multiple_of(horizons) {
                before = [0; 2];
            }
            put(bytes, rows[0] - before[0]);
            put(bytes, rows[1] - before[1]);
            before = rows;
        }
    });
}

/// Adds counts by fold, one number each: as [`put_side`], where every row stands for as many.
pub fn put_counts<const N: usize>(bytes: &mut Vec<u8>, side: &BTreeMap<u8, [u64; N]>) {
    let folds = side.iter().map(|(fold, counts)| (*fold, counts));
    put_folds(bytes, folds, |bytes, counts| {
        let mut before = 0;
        for (column, &count) in counts.iter().enumerate() {
            put(bytes, if column > 1 { count - before } else { count });
            before = count;
        }
    });
}

/// Adds the number of folds; for each the steps from the fold before, and its counts.
fn put_folds<C>(
    bytes: &mut Vec<u8>,
    side: impl ExactSizeIterator<Item = (u8, C)>,
    put_counts: impl Fn(&mut Vec<u8>, C),
) {
    put(bytes, side.len() as u64);
    let mut next = 0;
    for (fold, counts) in side {
        put(bytes, u64::from(fold) - next);
        next = u64::from(fold) + 1;
        put_counts(bytes, counts);
    }
}

/// Rows at a landmark, which stand for themselves, and rows of the sample, which stand for `sample`.
fn parted(count: Count, sample: u64) -> [u64; 2] {
    let sampled = match sample {
        0 | 1 => 0,
        sample => (count.turns - count.rows) / (sample - 1),
    };
    [count.rows - sampled, sampled]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_packed_seven_bits_a_byte() {
        let packed = |number| {
            let mut bytes = Vec::new();
            put(&mut bytes, number);
            bytes
        };
        assert_eq!(packed(0), [0]);
        assert_eq!(packed(127), [127]);
        assert_eq!(packed(128), [128, 1]);
        assert_eq!(packed(300), [0b1010_1100, 0b10]);
    }

    #[test]
    fn rows_are_told_apart_by_the_turns_they_stand_for() {
        let count = |rows, turns| Count { rows, turns };
        assert_eq!(parted(count(5, 5), 16), [5, 0]);
        assert_eq!(parted(count(5, 50), 16), [2, 3]);
        assert_eq!(parted(count(5, 5), 1), [5, 0]);
    }

    /// Folds by the steps between them, events by what each horizon adds; each group of events anew.
    #[test]
    fn a_side_is_packed_fold_by_fold() {
        let counts = |rows: &[u64]| -> Vec<Count> {
            rows.iter()
                .map(|&rows| Count { rows, turns: rows })
                .collect()
        };
        let side = [
            (2, counts(&[9, 1, 1, 2, 3, 3, 4])),
            (5, counts(&[9, 0, 0, 0, 0, 0, 0])),
        ];
        let mut bytes = Vec::new();
        let folds = side.iter().map(|(fold, counts)| (*fold, &counts[..]));
        put_side(&mut bytes, folds, (3, 16));
        let first = [2, 9, 0, 1, 0, 0, 0, 1, 0, 3, 0, 0, 0, 1, 0];
        let second = [2, 9, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
        assert_eq!(bytes, [&[2][..], &first, &second].concat());
        let mut bytes = Vec::new();
        put_counts(&mut bytes, &BTreeMap::from([(3, [7, 1, 1, 4])]));
        assert_eq!(bytes, [1, 3, 7, 1, 0, 3]);
    }
}
