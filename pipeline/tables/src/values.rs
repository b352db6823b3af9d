//! Rows of columns that are written as codes, and the numbers that can stand for codes.

/// Rows of a coded column.
pub enum Values<'a> {
    /// Numbers.
    UInt8(&'a [u8]),
    /// Numbers.
    UInt16(&'a [u16]),
    /// Numbers.
    UInt32(&'a [u32]),
    /// Numbers.
    Int16(&'a [i16]),
    /// Numbers.
    Int32(&'a [i32]),
    /// Parts of a whole, and how many parts it has.
    Fractions(&'a [i16], f32),
    /// Places in a list of words.
    Words(&'a [u8], &'a [String]),
    /// 0 for false, 1 for true.
    Flags(&'a [u8]),
}

/// A number that can be coded.
pub trait Number: Copy + Ord + 'static {
    /// What stands for a null in a column that may have any.
    const NULL: Self;
    /// The lowest and the highest number.
    const ENDS: (Self, Self);

    /// Such numbers for the encoder.
    fn values(numbers: &[Self]) -> Values<'_>;

    /// The number as Parquet keeps it.
    fn bits(self) -> i32;
}

macro_rules! number {
    ($type:ty, $null:expr, $data:ident) => {
        impl Number for $type {
            const NULL: $type = $null;
            const ENDS: ($type, $type) = (<$type>::MIN, <$type>::MAX);

            fn values(numbers: &[$type]) -> Values<'_> {
                Values::$data(numbers)
            }

            #[inline]
            fn bits(self) -> i32 {
                self as i32
            }
        }
    };
}

// No unit has 255 squares; plies are counted from 1, and no rating is 0.
number!(u8, u8::MAX, UInt8);
number!(u16, 0, UInt16);
number!(u32, u32::MAX, UInt32);
number!(i16, i16::MIN, Int16);
number!(i32, i32::MIN, Int32);

/// The fraction that a code means.
pub(crate) fn fraction(code: i16, parts: f32) -> f32 {
    f32::from(code) / parts
}
