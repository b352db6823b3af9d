//! Growing columns, turned into Arrow arrays when a block is done.

use std::sync::Arc;

use arrow_array::builder::StringBuilder;
use arrow_array::types::{ArrowPrimitiveType, UInt8Type};
use arrow_array::{Array, ArrayRef, BooleanArray, DictionaryArray, PrimitiveArray, StringArray};
use arrow_buffer::{BooleanBufferBuilder, NullBuffer, ScalarBuffer};

/// Turns a grown column into an Arrow array.
pub trait Finish {
    /// The array; the column is empty afterwards.
    fn finish(&mut self) -> ArrayRef;
}

/// Numbers without nulls.
pub struct Numbers<T: ArrowPrimitiveType>(pub Vec<T::Native>);

impl<T: ArrowPrimitiveType> Default for Numbers<T> {
    fn default() -> Self {
        Numbers(Vec::new())
    }
}

impl<T: ArrowPrimitiveType> Numbers<T> {
    /// Adds a value.
    #[inline]
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

impl<T: ArrowPrimitiveType> Finish for Numbers<T> {
    fn finish(&mut self) -> ArrayRef {
        let values = std::mem::take(&mut self.0);
        Arc::new(PrimitiveArray::<T>::new(ScalarBuffer::from(values), None))
    }
}

/// Numbers with nulls.
pub struct MaybeNumbers<T: ArrowPrimitiveType> {
    values: Vec<T::Native>,
    valid: Vec<bool>,
}

impl<T: ArrowPrimitiveType> Default for MaybeNumbers<T> {
    fn default() -> Self {
        MaybeNumbers {
            values: Vec::new(),
            valid: Vec::new(),
        }
    }
}

impl<T: ArrowPrimitiveType> MaybeNumbers<T> {
    /// Adds a value or a null.
    #[inline]
    pub fn push(&mut self, value: Option<T::Native>) {
        self.values.push(value.unwrap_or_default());
        self.valid.push(value.is_some());
    }
}

impl<T: ArrowPrimitiveType> Finish for MaybeNumbers<T> {
    fn finish(&mut self) -> ArrayRef {
        let values = std::mem::take(&mut self.values);
        let nulls = nulls(std::mem::take(&mut self.valid));
        Arc::new(PrimitiveArray::<T>::new(ScalarBuffer::from(values), nulls))
    }
}

fn nulls(valid: Vec<bool>) -> Option<NullBuffer> {
    if valid.iter().all(|&valid| valid) {
        None
    } else {
        Some(NullBuffer::from(valid))
    }
}

/// Truths without nulls.
pub struct Flags(BooleanBufferBuilder);

impl Default for Flags {
    fn default() -> Self {
        Flags(BooleanBufferBuilder::new(0))
    }
}

impl Flags {
    /// Adds a value.
    #[inline]
    pub fn push(&mut self, value: bool) {
        self.0.append(value);
    }
}

impl Finish for Flags {
    fn finish(&mut self) -> ArrayRef {
        Arc::new(BooleanArray::new(self.0.finish(), None))
    }
}

/// Truths with nulls.
#[derive(Default)]
pub struct MaybeFlags {
    values: Vec<bool>,
    valid: Vec<bool>,
}

impl MaybeFlags {
    /// Adds a value or a null.
    #[inline]
    pub fn push(&mut self, value: Option<bool>) {
        self.values.push(value.unwrap_or_default());
        self.valid.push(value.is_some());
    }
}

impl Finish for MaybeFlags {
    fn finish(&mut self) -> ArrayRef {
        let values = std::mem::take(&mut self.values);
        let nulls = nulls(std::mem::take(&mut self.valid));
        Arc::new(BooleanArray::new(values.into(), nulls))
    }
}

/// Text out of at most 255 values, kept as codes.
pub struct Codes {
    values: Arc<dyn Array>,
    keys: Vec<u8>,
}

/// Code of a null.
pub const NO_CODE: u8 = u8::MAX;

impl Codes {
    /// A column of the values given; a code is the place of its value.
    pub fn of<S: AsRef<str>>(values: impl IntoIterator<Item = S>) -> Codes {
        Codes {
            values: Arc::new(StringArray::from_iter_values(values)),
            keys: Vec::new(),
        }
    }

    /// Adds a code; [`NO_CODE`] is a null.
    #[inline]
    pub fn push(&mut self, code: u8) {
        self.keys.push(code);
    }

    /// Adds a code or a null.
    #[inline]
    pub fn push_maybe(&mut self, code: Option<u8>) {
        self.keys.push(code.unwrap_or(NO_CODE));
    }
}

impl Finish for Codes {
    fn finish(&mut self) -> ArrayRef {
        let mut keys = std::mem::take(&mut self.keys);
        let nulls = if memchr::memchr(NO_CODE, &keys).is_some() {
            let valid = keys.iter().map(|&key| key != NO_CODE).collect::<Vec<_>>();
            for key in &mut keys {
                if *key == NO_CODE {
                    *key = 0;
                }
            }
            nulls(valid)
        } else {
            None
        };
        let keys = PrimitiveArray::<UInt8Type>::new(ScalarBuffer::from(keys), nulls);
        Arc::new(DictionaryArray::new(keys, self.values.clone()))
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

impl Finish for Texts {
    fn finish(&mut self) -> ArrayRef {
        Arc::new(self.0.finish())
    }
}

/// Names of the squares, by number.
pub fn square_names() -> impl Iterator<Item = String> {
    shakmaty::Square::ALL.iter().map(ToString::to_string)
}

/// Names of the kinds of unit, by `Role as u8 - 1`.
pub const KINDS: [&str; 6] = ["pawn", "knight", "bishop", "rook", "queen", "king"];

/// Code of a kind of unit in a column of [`KINDS`].
#[inline]
pub const fn kind_code(role: shakmaty::Role) -> u8 {
    role as u8 - 1
}
