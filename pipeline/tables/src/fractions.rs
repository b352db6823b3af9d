//! A growing column of clocks or evaluations.

use std::ops::Range;
use std::sync::Arc;

use arrow_array::Float32Array;

use crate::growing::{Growing, Rows, keep};
use crate::values::{Number as _, Values, fraction};

/// Fractions with nulls. Clocks and evaluations come in whole numbers, tenths or hundredths,
/// and are coded as such; if one of a block does not, all go to the general writer.
#[derive(Default)]
pub struct Fractions {
    /// Nulls before the first value: archives without clocks or evaluations have no others.
    nulls: usize,
    values: Vec<f32>,
    codes: Vec<i16>,
}

/// Stands for a null: a NaN that no text yields.
const NO_FRACTION: u32 = 0x7FC0_0FF0;

impl Fractions {
    /// Adds values and nulls.
    pub fn extend(&mut self, values: impl Iterator<Item = Option<f32>>) {
        let null = f32::from_bits(NO_FRACTION);
        if self.nulls > 0 {
            self.values.resize(self.nulls, null);
            self.nulls = 0;
        }
        self.values
            .extend(values.map(|value| value.unwrap_or(null)));
    }

    /// Adds nulls.
    pub fn extend_nulls(&mut self, count: usize) {
        if self.values.is_empty() {
            self.nulls += count;
        } else {
            let null = f32::from_bits(NO_FRACTION);
            self.values.resize(self.values.len() + count, null);
        }
    }

    /// Codes the values as parts of a whole; returns whether all of them are.
    fn code(&mut self, parts: f32) -> bool {
        self.codes.clear();
        for &value in &self.values {
            let code = (value * parts + 0.5_f32.copysign(value)) as i16;
            if value.to_bits() == NO_FRACTION {
                self.codes.push(i16::NULL);
            } else if code != i16::NULL && fraction(code, parts).to_bits() == value.to_bits() {
                self.codes.push(code);
            } else {
                return false;
            }
        }
        true
    }
}

impl Growing for Fractions {
    fn row_count(&self) -> usize {
        self.nulls + self.values.len()
    }

    fn keep(&mut self, ranges: &[Range<usize>]) {
        if self.nulls > 0 {
            self.nulls = ranges.iter().map(Range::len).sum();
        } else {
            keep(&mut self.values, ranges);
        }
    }

    fn rows(&mut self) -> Rows<'_> {
        if self.nulls > 0 {
            self.codes.clear();
            self.codes.resize(self.nulls, i16::NULL);
            return Rows::Coded(Values::Fractions(&self.codes, 1.0));
        }
        match [1.0, 10.0, 100.0]
            .into_iter()
            .find(|&parts| self.code(parts))
        {
            Some(parts) => Rows::Coded(Values::Fractions(&self.codes, parts)),
            None => {
                let known = |&value: &f32| (value.to_bits() != NO_FRACTION).then_some(value);
                Rows::Array(Arc::new(
                    self.values.iter().map(known).collect::<Float32Array>(),
                ))
            }
        }
    }

    fn clear(&mut self) {
        self.nulls = 0;
        self.values.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn coded(values: &[Option<f32>]) -> Option<(Vec<i16>, f32)> {
        let mut column = Fractions::default();
        column.extend(values.iter().copied());
        match column.rows() {
            Rows::Coded(Values::Fractions(codes, parts)) => Some((codes.to_vec(), parts)),
            _ => None,
        }
    }

    #[test]
    fn fractions_are_coded_where_they_come_back() {
        let whole = coded(&[Some(180.0), None, Some(-3.0)]);
        assert_eq!(whole, Some((vec![180, i16::NULL, -3], 1.0)));
        assert_eq!(coded(&[Some(59.9)]), Some((vec![599], 10.0)));
        assert_eq!(
            coded(&[Some(-0.35), Some(8.0)]),
            Some((vec![-35, 800], 100.0))
        );
        for odd in [
            0.333,
            -0.0,
            f32::NAN,
            f32::INFINITY,
            -32_768.0,
            32_768.0,
            1e-9,
        ] {
            assert_eq!(coded(&[Some(1.0), Some(odd)]), None, "{odd}");
        }
    }

    #[test]
    fn nulls_are_counted_until_a_value_comes() {
        let mut column = Fractions::default();
        let codes = |column: &mut Fractions| match column.rows() {
            Rows::Coded(Values::Fractions(codes, _)) => codes.to_vec(),
            _ => Vec::new(),
        };
        column.extend_nulls(2);
        assert_eq!(
            (column.row_count(), codes(&mut column)),
            (2, vec![i16::NULL; 2])
        );
        column.extend([Some(3.0)].into_iter());
        column.extend_nulls(1);
        assert_eq!(column.row_count(), 4);
        assert_eq!(codes(&mut column), [i16::NULL, i16::NULL, 3, i16::NULL]);
        column.clear();
        assert_eq!(column.row_count(), 0);
    }

    #[test]
    fn every_hundredth_comes_back() {
        for code in -32_767..=32_767_i16 {
            let value = fraction(code, 100.0);
            let (codes, parts) = coded(&[Some(value), Some(0.01)]).expect("a hundredth");
            assert_eq!((codes[0], parts), (code, 100.0));
        }
    }
}
