//! Numbers packed into bits: the RLE/bit-packing hybrid of the Apache Parquet format.

use hobble_terms::leb128;

/// Bits that places up to `highest` take.
pub(crate) fn width(highest: u32) -> usize {
    let bits = u32::BITS - highest.leading_zeros();
    bits.max(1).next_power_of_two() as usize
}

/// Packs numbers into `WIDTH` bits each, in groups of eight, the last one filled up with zeros;
/// `WIDTH` is 1, 2 or 4.
pub(crate) fn pack<const WIDTH: usize>(numbers: &mut Vec<u8>, out: &mut Vec<u8>) {
    numbers.resize(numbers.len().next_multiple_of(8), 0);
    let start = out.len();
    out.resize(start + numbers.len() / 8 * WIDTH, 0);
    for (group, packed) in numbers
        .as_chunks::<8>()
        .0
        .iter()
        .zip(out[start..].as_chunks_mut::<WIDTH>().0)
    {
        // Neighbours move together: pairs, fours, all eight.
        let mut bits = u64::from_le_bytes(*group);
        for (lane, filled) in [(16, 2 * WIDTH), (32, 4 * WIDTH), (64, 8 * WIDTH)] {
            let mask = (u64::MAX >> (64 - filled)) * (u64::MAX / (u64::MAX >> (64 - lane)));
            bits = (bits | bits >> ((lane - filled) / 2)) & mask;
        }
        packed.copy_from_slice(&bits.to_le_bytes()[..WIDTH]);
    }
}

/// Header of bit-packed groups of eight.
pub(crate) fn packed(out: &mut Vec<u8>, numbers: usize) {
    leb128::write(out, (numbers.div_ceil(8) as u64) << 1 | 1);
}

/// One number many times.
pub(crate) fn run(out: &mut Vec<u8>, times: usize, number: &[u8]) {
    leb128::write(out, (times as u64) << 1);
    out.extend(number);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Apache Parquet format, "Run Length Encoding / Bit-Packing Hybrid": the numbers
    /// are packed from the least significant bit of each byte on.
    #[test]
    fn packs_as_the_format_shows() {
        fn packed<const WIDTH: usize>(numbers: &[u8]) -> Vec<u8> {
            let mut out = vec![9];
            pack::<WIDTH>(&mut numbers.to_vec(), &mut out);
            out
        }
        assert_eq!(
            packed::<1>(&[1, 0, 1, 1, 0, 0, 0, 1, 1]),
            [9, 0b1000_1101, 1]
        );
        assert_eq!(packed::<2>(&[0, 1, 2, 3, 3, 2]), [9, 0b1110_0100, 0b1011]);
        let nibbles = packed::<4>(&[1, 2, 3, 4, 5, 6, 7, 15]);
        assert_eq!(nibbles, [9, 0x21, 0x43, 0x65, 0xF7]);
    }

    #[test]
    fn places_take_a_power_of_two_of_bits() {
        let widths = [0, 1, 2, 3, 4, 15, 16, 255, 256, 65_535, 65_536].map(width);
        assert_eq!(widths, [1, 1, 2, 2, 4, 4, 8, 8, 16, 16, 32]);
    }
}
