//! Growing columns, encoded and emptied when a block is done; their buffers are kept.

use std::sync::Arc;

use arrow_array::builder::StringBuilder;
use arrow_array::types::ArrowPrimitiveType;
use arrow_array::{ArrayRef, Float32Array, PrimitiveArray};
use arrow_schema::DataType;

use crate::coded::{Number, Values};

/// A column that grows row by row.
pub trait Column {
    /// Its Arrow type.
    fn data_type(&self) -> DataType;

    /// Whether nulls may be among its rows; `None` where the column does not care.
    fn is_nullable(&self) -> Option<bool>;

    /// Its rows, for the encoder.
    fn rows(&mut self) -> Rows<'_>;

    /// Empties it.
    fn clear(&mut self);
}

/// The rows of a column.
pub enum Rows<'a> {
    /// Few different values, or small ones.
    Coded(Values<'a>),
    /// All else.
    Array(ArrayRef),
}

/// Small numbers without nulls.
#[derive(Default)]
pub struct Numbers<T>(Vec<T>);

impl<T: Number> Numbers<T> {
    /// Adds a value.
    #[inline]
    pub fn push(&mut self, value: T) {
        self.0.push(value);
    }

    /// Adds a value several times.
    pub fn fill(&mut self, value: T, times: usize) {
        self.0.resize(self.0.len() + times, value);
    }

    /// Adds values.
    #[inline]
    pub fn extend(&mut self, values: impl Iterator<Item = T>) {
        self.0.extend(values);
    }

    /// Number of values.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl<T: Number> Column for Numbers<T> {
    fn data_type(&self) -> DataType {
        T::DATA
    }

    fn is_nullable(&self) -> Option<bool> {
        Some(false)
    }

    fn rows(&mut self) -> Rows<'_> {
        Rows::Coded(T::values(&self.0))
    }

    fn clear(&mut self) {
        self.0.clear();
    }
}

/// Small numbers with nulls, which are kept as [`Number::NULL`].
#[derive(Default)]
pub struct MaybeNumbers<T>(Vec<T>);

impl<T: Number> MaybeNumbers<T> {
    /// Adds a value or a null.
    #[inline]
    pub fn push(&mut self, value: Option<T>) {
        self.0.push(Self::kept(value));
    }

    /// Adds values and nulls.
    #[inline]
    pub fn extend(&mut self, values: impl Iterator<Item = Option<T>>) {
        self.0.extend(values.map(Self::kept));
    }

    #[inline]
    fn kept(value: Option<T>) -> T {
        debug_assert!(value != Some(T::NULL), "the null is a value");
        value.unwrap_or(T::NULL)
    }
}

impl<T: Number> Column for MaybeNumbers<T> {
    fn data_type(&self) -> DataType {
        T::DATA
    }

    fn is_nullable(&self) -> Option<bool> {
        Some(true)
    }

    fn rows(&mut self) -> Rows<'_> {
        Rows::Coded(T::values(&self.0))
    }

    fn clear(&mut self) {
        self.0.clear();
    }
}

/// Numbers without nulls of which no two need be alike.
pub struct Longs<T: ArrowPrimitiveType>(Vec<T::Native>);

impl<T: ArrowPrimitiveType> Default for Longs<T> {
    fn default() -> Self {
        Longs(Vec::new())
    }
}

impl<T: ArrowPrimitiveType> Longs<T> {
    /// Adds a value.
    pub fn push(&mut self, value: T::Native) {
        self.0.push(value);
    }

    /// Number of values.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl<T: ArrowPrimitiveType> Column for Longs<T> {
    fn data_type(&self) -> DataType {
        T::DATA_TYPE
    }

    fn is_nullable(&self) -> Option<bool> {
        Some(false)
    }

    fn rows(&mut self) -> Rows<'_> {
        let values = std::mem::take(&mut self.0);
        Rows::Array(Arc::new(PrimitiveArray::<T>::new(values.into(), None)))
    }

    fn clear(&mut self) {
        self.0.clear();
    }
}

/// Fractions with nulls. Clocks and evaluations come in whole numbers, tenths or hundredths,
/// and are coded as such; where one of a block does not, all go to the general writer.
#[derive(Default)]
pub struct Fractions {
    values: Vec<f32>,
    codes: Vec<i16>,
}

/// Stands for a null: of those that are not a number, one that no text gives.
const NO_FRACTION: u32 = 0x7FC0_0FF0;

impl Fractions {
    /// Adds values and nulls.
    pub fn extend(&mut self, values: impl Iterator<Item = Option<f32>>) {
        let null = f32::from_bits(NO_FRACTION);
        self.values
            .extend(values.map(|value| value.unwrap_or(null)));
    }

    /// Codes the values as parts of a whole; tells whether all of them are.
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

/// The fraction that a code means.
pub(crate) fn fraction(code: i16, parts: f32) -> f32 {
    f32::from(code) / parts
}

impl Column for Fractions {
    fn data_type(&self) -> DataType {
        DataType::Float32
    }

    fn is_nullable(&self) -> Option<bool> {
        Some(true)
    }

    fn rows(&mut self) -> Rows<'_> {
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
        self.values.clear();
    }
}

/// Truths without nulls.
#[derive(Default)]
pub struct Flags(Vec<u8>);

impl Flags {
    /// Adds a value.
    #[inline]
    pub fn push(&mut self, value: bool) {
        self.0.push(u8::from(value));
    }

    /// Adds values.
    #[inline]
    pub fn extend(&mut self, values: impl Iterator<Item = bool>) {
        self.0.extend(values.map(u8::from));
    }
}

impl Column for Flags {
    fn data_type(&self) -> DataType {
        DataType::Boolean
    }

    fn is_nullable(&self) -> Option<bool> {
        Some(false)
    }

    fn rows(&mut self) -> Rows<'_> {
        Rows::Coded(Values::Flags(&self.0))
    }

    fn clear(&mut self) {
        self.0.clear();
    }
}

/// Truths with nulls.
#[derive(Default)]
pub struct MaybeFlags(Vec<u8>);

impl MaybeFlags {
    /// Adds values and nulls.
    #[inline]
    pub fn extend(&mut self, values: impl Iterator<Item = Option<bool>>) {
        self.0
            .extend(values.map(|value| value.map_or(u8::NULL, u8::from)));
    }
}

impl Column for MaybeFlags {
    fn data_type(&self) -> DataType {
        DataType::Boolean
    }

    fn is_nullable(&self) -> Option<bool> {
        Some(true)
    }

    fn rows(&mut self) -> Rows<'_> {
        Rows::Coded(Values::Flags(&self.0))
    }

    fn clear(&mut self) {
        self.0.clear();
    }
}

/// Text out of at most 255 values, kept as codes.
pub struct Codes {
    words: Vec<String>,
    codes: Vec<u8>,
}

impl Codes {
    /// A column of the values given; a code is the place of its value.
    pub fn of<S: Into<String>>(values: impl IntoIterator<Item = S>) -> Codes {
        Codes {
            words: values.into_iter().map(Into::into).collect(),
            codes: Vec::new(),
        }
    }

    /// Adds a code.
    #[inline]
    pub fn push(&mut self, code: u8) {
        self.codes.push(code);
    }

    /// Adds a code several times.
    pub fn fill(&mut self, code: u8, times: usize) {
        self.codes.resize(self.codes.len() + times, code);
    }

    /// Adds codes.
    #[inline]
    pub fn extend(&mut self, codes: impl Iterator<Item = u8>) {
        self.codes.extend(codes);
    }

    /// Adds codes and nulls.
    #[inline]
    pub fn extend_maybe(&mut self, codes: impl Iterator<Item = Option<u8>>) {
        self.codes
            .extend(codes.map(|code| code.unwrap_or(u8::NULL)));
    }
}

impl Column for Codes {
    fn data_type(&self) -> DataType {
        DataType::Utf8
    }

    fn is_nullable(&self) -> Option<bool> {
        // No code is as high as the null, so that a column without one takes no harm.
        None
    }

    fn rows(&mut self) -> Rows<'_> {
        Rows::Coded(Values::Words(&self.codes, &self.words))
    }

    fn clear(&mut self) {
        self.codes.clear();
    }
}

/// Free text.
#[derive(Default)]
pub struct Texts(StringBuilder);

impl Texts {
    /// Adds a value.
    pub fn push(&mut self, value: &str) {
        self.0.append_value(value);
    }

    /// Adds a value or a null.
    pub fn push_maybe(&mut self, value: Option<&str>) {
        self.0.append_option(value);
    }
}

impl Column for Texts {
    fn data_type(&self) -> DataType {
        DataType::Utf8
    }

    fn is_nullable(&self) -> Option<bool> {
        None
    }

    fn rows(&mut self) -> Rows<'_> {
        Rows::Array(Arc::new(self.0.finish()))
    }

    fn clear(&mut self) {
        self.0 = StringBuilder::default();
    }
}

/// Names of the squares, by number.
pub fn square_names() -> impl Iterator<Item = String> {
    shakmaty::Square::ALL.iter().map(ToString::to_string)
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
    fn every_hundredth_comes_back() {
        for code in -32_767..=32_767_i16 {
            let value = fraction(code, 100.0);
            let (codes, parts) = coded(&[Some(value), Some(0.01)]).expect("a hundredth");
            assert_eq!((codes[0], parts), (code, 100.0));
        }
    }
}
