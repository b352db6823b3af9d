//! Whole numbers of seven bits a byte: unsigned LEB128.
//!
//! Source: DWARF Debugging Information Format, version 5, section 7.6. Apache Parquet uses it for the
//! headers of its runs.

/// Appends a number: the lowest seven bits first; the highest bit of a byte says that more follow.
pub fn write(bytes: &mut Vec<u8>, mut number: u64) {
    while number >= 0x80 {
        bytes.push(number as u8 | 0x80);
        number >>= 7;
    }
    bytes.push(number as u8);
}

/// Takes a number from the front of the bytes; `None` where they end in the middle of it, or where it
/// does not end within 64 bits.
pub fn read(bytes: &mut &[u8]) -> Option<u64> {
    let mut number = 0;
    for shift in (0..u64::BITS).step_by(7) {
        let (byte, rest) = bytes.split_first()?;
        *bytes = rest;
        number |= u64::from(byte & 0x7f) << shift;
        if byte & 0x80 == 0 {
            return Some(number);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Source: DWARF 5, section 7.6, the examples of unsigned numbers.
    #[test]
    fn numbers_are_those_of_the_standard() {
        let examples: [(u64, &[u8]); 5] = [
            (2, &[2]),
            (127, &[127]),
            (128, &[0x80, 1]),
            (129, &[1 + 0x80, 1]),
            (12_857, &[57 + 0x80, 100]),
        ];
        for (number, bytes) in examples {
            let mut written = Vec::new();
            write(&mut written, number);
            assert_eq!(written, bytes);
            assert_eq!(read(&mut &*written), Some(number));
        }
    }

    #[test]
    fn a_number_that_does_not_end_is_none() {
        assert_eq!(read(&mut [0x80, 0x80].as_slice()), None);
        assert_eq!(read(&mut [0xff; 11].as_slice()), None);
    }

    proptest! {
        #[test]
        fn what_is_written_is_read(numbers in prop::collection::vec(any::<u64>(), 0..9)) {
            let mut written = Vec::new();
            for &number in &numbers {
                write(&mut written, number);
            }
            let mut left = written.as_slice();
            for &number in &numbers {
                prop_assert_eq!(read(&mut left), Some(number));
            }
            prop_assert!(left.is_empty());
        }
    }
}
