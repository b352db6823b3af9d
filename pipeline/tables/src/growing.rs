//! Growing columns, encoded and emptied when a block is done; their buffers are kept.

use std::marker::PhantomData;
use std::ops::Range;
use std::sync::Arc;

use arrow_array::builder::StringBuilder;
use arrow_array::types::ArrowPrimitiveType;
use arrow_array::{Array as _, ArrayRef, PrimitiveArray};

use crate::values::{Number, Values};
use crate::words::Words;

/// A column that grows row by row.
pub trait Growing {
    /// Number of its rows.
    fn row_count(&self) -> usize;

    /// Its rows, for the encoder.
    fn rows(&mut self) -> Rows<'_>;

    /// Keeps only the rows in these ranges, in their order.
    fn keep(&mut self, ranges: &[Range<usize>]);

    /// Empties it.
    fn clear(&mut self);
}

/// Keeps only the values in these ranges, in their order.
pub(crate) fn keep<T: Copy>(values: &mut Vec<T>, ranges: &[Range<usize>]) {
    let mut kept = Vec::with_capacity(ranges.iter().map(Range::len).sum());
    for range in ranges {
        kept.extend_from_slice(&values[range.clone()]);
    }
    *values = kept;
}

/// The rows of a column.
pub enum Rows<'a> {
    /// Few different values, or small ones.
    Coded(Values<'a>),
    /// All others.
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

/// Truths without nulls.
#[derive(Default)]
pub struct Flags(Vec<u8>);

impl Flags {
    /// Adds a value.
    #[inline]
    pub fn push(&mut self, value: bool) {
        self.0.push(u8::from(value));
    }

    /// The value of a row.
    pub(crate) fn at(&self, row: usize) -> bool {
        self.0[row] == 1
    }

    /// Adds values.
    #[inline]
    pub fn extend(&mut self, values: impl Iterator<Item = bool>) {
        self.0.extend(values.map(u8::from));
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

    /// Changes the values of some rows.
    pub fn set(&mut self, rows: Range<usize>, value: bool) {
        if let Some(values) = self.0.get_mut(rows) {
            values.fill(u8::from(value));
        }
    }
}

/// A column whose codes stand in its first field.
macro_rules! coded {
    ($($column:ty [$($bounds:tt)*], $codes:ident => $values:expr;)+) => {
        $(
            impl<$($bounds)*> Growing for $column {
                fn row_count(&self) -> usize {
                    self.0.len()
                }

                fn rows(&mut self) -> Rows<'_> {
                    let $codes = &self.0;
                    Rows::Coded($values)
                }

                fn keep(&mut self, ranges: &[Range<usize>]) {
                    keep(&mut self.0, ranges);
                }

                fn clear(&mut self) {
                    self.0.clear();
                }
            }
        )+
    };
}

coded! {
    Numbers<T> [T: Number], codes => T::values(codes);
    MaybeNumbers<T> [T: Number], codes => T::values(codes);
    Flags [], codes => Values::Flags(codes);
    MaybeFlags [], codes => Values::Flags(codes);
}

/// Words, kept as codes.
pub struct Codes<W> {
    words: Vec<String>,
    codes: Vec<u8>,
    kind: PhantomData<fn() -> W>,
}

impl<W: Words> Default for Codes<W> {
    /// No rows yet.
    fn default() -> Codes<W> {
        Codes {
            words: W::list(),
            codes: Vec::new(),
            kind: PhantomData,
        }
    }
}

impl<W: Words> Codes<W> {
    /// Adds a word.
    #[inline]
    pub fn push(&mut self, word: W::Value) {
        self.codes.push(W::code(word));
    }

    /// Whether a row has this word.
    pub(crate) fn is(&self, row: usize, word: W::Value) -> bool {
        self.codes[row] == W::code(word)
    }

    /// Adds a word several times.
    pub fn fill(&mut self, word: W::Value, times: usize) {
        self.codes.resize(self.codes.len() + times, W::code(word));
    }

    /// Adds words.
    #[inline]
    pub fn extend(&mut self, words: impl Iterator<Item = W::Value>) {
        self.codes.extend(words.map(W::code));
    }
}

impl<W: Words> Growing for Codes<W> {
    fn row_count(&self) -> usize {
        self.codes.len()
    }

    fn rows(&mut self) -> Rows<'_> {
        Rows::Coded(Values::Words(&self.codes, &self.words))
    }

    fn keep(&mut self, ranges: &[Range<usize>]) {
        keep(&mut self.codes, ranges);
    }

    fn clear(&mut self) {
        self.codes.clear();
    }
}

/// Words with nulls, kept as codes.
pub struct MaybeCodes<W>(Codes<W>);

impl<W: Words> Default for MaybeCodes<W> {
    /// No rows yet.
    fn default() -> MaybeCodes<W> {
        MaybeCodes(Codes::default())
    }
}

impl<W: Words> MaybeCodes<W> {
    /// Adds words and nulls.
    #[inline]
    pub fn extend(&mut self, words: impl Iterator<Item = Option<W::Value>>) {
        let codes = words.map(|word| word.map_or(u8::NULL, W::code));
        self.0.codes.extend(codes);
    }
}

impl<W: Words> Growing for MaybeCodes<W> {
    fn row_count(&self) -> usize {
        self.0.row_count()
    }

    fn rows(&mut self) -> Rows<'_> {
        self.0.rows()
    }

    fn keep(&mut self, ranges: &[Range<usize>]) {
        self.0.keep(ranges);
    }

    fn clear(&mut self) {
        self.0.clear();
    }
}

/// Numbers without nulls that seldom repeat.
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

    /// Adds values.
    pub fn extend(&mut self, values: impl Iterator<Item = T::Native>) {
        self.0.extend(values);
    }
}

impl<T: ArrowPrimitiveType> Growing for Longs<T> {
    fn row_count(&self) -> usize {
        self.0.len()
    }

    fn rows(&mut self) -> Rows<'_> {
        let values = std::mem::take(&mut self.0);
        Rows::Array(Arc::new(PrimitiveArray::<T>::new(values.into(), None)))
    }

    fn keep(&mut self, ranges: &[Range<usize>]) {
        keep(&mut self.0, ranges);
    }

    fn clear(&mut self) {
        self.0.clear();
    }
}

/// Numbers with nulls, of a wide range.
pub struct MaybeLongs<T: ArrowPrimitiveType>(Vec<Option<T::Native>>);

impl<T: ArrowPrimitiveType> Default for MaybeLongs<T> {
    fn default() -> Self {
        MaybeLongs(Vec::new())
    }
}

impl<T: ArrowPrimitiveType> MaybeLongs<T> {
    /// Adds a value or a null several times.
    pub fn fill(&mut self, value: Option<T::Native>, times: usize) {
        self.0.resize(self.0.len() + times, value);
    }
}

impl<T: ArrowPrimitiveType> Growing for MaybeLongs<T> {
    fn row_count(&self) -> usize {
        self.0.len()
    }

    fn rows(&mut self) -> Rows<'_> {
        let values = self.0.iter().copied();
        Rows::Array(Arc::new(values.collect::<PrimitiveArray<T>>()))
    }

    fn keep(&mut self, ranges: &[Range<usize>]) {
        keep(&mut self.0, ranges);
    }

    fn clear(&mut self) {
        self.0.clear();
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
}

/// Free text with nulls.
#[derive(Default)]
pub struct MaybeTexts(StringBuilder);

impl MaybeTexts {
    /// Adds a value or a null.
    pub fn push(&mut self, value: Option<&str>) {
        self.0.append_option(value);
    }
}

/// A column of text.
macro_rules! texts {
    ($($column:ty),+) => {
        $(
            impl Growing for $column {
                fn row_count(&self) -> usize {
                    arrow_array::builder::ArrayBuilder::len(&self.0)
                }

                fn rows(&mut self) -> Rows<'_> {
                    Rows::Array(Arc::new(self.0.finish()))
                }

                fn keep(&mut self, ranges: &[Range<usize>]) {
                    let all = self.0.finish();
                    for row in ranges.iter().flat_map(Clone::clone) {
                        self.0.append_option(all.is_valid(row).then(|| all.value(row)));
                    }
                }

                fn clear(&mut self) {
                    self.0 = StringBuilder::default();
                }
            }
        )+
    };
}

texts!(Texts, MaybeTexts);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_that_are_kept() {
        let mut numbers = Numbers::<u8>::default();
        numbers.extend(0..10);
        numbers.keep(&[1..3, 9..10, 5..6]);
        assert_eq!(numbers.0, [1, 2, 9, 5]);
        let mut texts = MaybeTexts::default();
        for text in [Some("a"), None, Some("c"), Some("d")] {
            texts.push(text);
        }
        texts.keep(&[1..2, 3..4]);
        assert_eq!(texts.row_count(), 2);
        texts.push(Some("e"));
        let Rows::Array(rows) = texts.rows() else {
            panic!("texts are an array");
        };
        let rows = arrow_array::cast::AsArray::as_string::<i32>(&rows).clone();
        assert_eq!(
            rows.iter().collect::<Vec<_>>(),
            [None, Some("d"), Some("e")]
        );
    }
}
