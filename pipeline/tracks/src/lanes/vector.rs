//! Sets of squares of several positions in one register, with the operators of a single set.
//!
//! The kernel is written once, over [`Vector`]; [`Lanes`] is what an instruction set has to
//! provide. All functions are inlined into the function that was compiled for the instruction
//! set: outside of it they would be calls.

use std::ops::{BitAnd, BitAndAssign, BitOr, BitOrAssign, BitXor, Not};

/// Positions in a chunk: what the widest instruction set measures at once.
pub const CHUNK: usize = 8;

/// One 64-bit number for each position of a chunk.
pub type Row = [u64; CHUNK];

/// Operations of an instruction set on 64-bit lanes. Shifts by 64 or more give 0.
pub trait Lanes: Copy {
    /// One register.
    type Register: Copy;
    /// Lanes of a register; divides [`CHUNK`].
    const COUNT: usize;

    /// The same number in all lanes.
    fn splat(self, number: u64) -> Self::Register;
    /// The first numbers of a slice.
    fn load(self, from: &[u64]) -> Self::Register;
    /// Stores all lanes at the start of a slice.
    fn store(self, lanes: Self::Register, to: &mut [u64]);
    /// The first bytes of a slice, one a lane.
    fn widen(self, from: &[u8]) -> Self::Register;
    /// Stores the lowest byte of all lanes at the start of a slice.
    fn narrow(self, lanes: Self::Register, to: &mut [u8]);
    /// a & b
    fn and(self, a: Self::Register, b: Self::Register) -> Self::Register;
    /// a | b
    fn or(self, a: Self::Register, b: Self::Register) -> Self::Register;
    /// a ^ b
    fn xor(self, a: Self::Register, b: Self::Register) -> Self::Register;
    /// a & !b
    fn and_not(self, a: Self::Register, b: Self::Register) -> Self::Register;
    /// a + b, wrapping
    fn add(self, a: Self::Register, b: Self::Register) -> Self::Register;
    /// a - b, wrapping
    fn sub(self, a: Self::Register, b: Self::Register) -> Self::Register;
    /// a << BITS
    fn left<const BITS: u32>(self, a: Self::Register) -> Self::Register;
    /// a >> BITS
    fn right<const BITS: u32>(self, a: Self::Register) -> Self::Register;
    /// a << b in each lane
    fn left_by(self, a: Self::Register, b: Self::Register) -> Self::Register;
    /// a >> b in each lane
    fn right_by(self, a: Self::Register, b: Self::Register) -> Self::Register;
    /// The bytes of each lane in reverse: the board upside down.
    fn flip(self, a: Self::Register) -> Self::Register;
    /// The number of bits set in each lane.
    fn count(self, a: Self::Register) -> Self::Register;
    /// `a` in the lanes where `asked` is not 0, and 0 elsewhere.
    fn where_any(self, asked: Self::Register, a: Self::Register) -> Self::Register;
    /// `a` in the lanes where `asked` is 0, and 0 elsewhere.
    fn where_none(self, asked: Self::Register, a: Self::Register) -> Self::Register;
    /// A bit for each lane that is not 0.
    fn nonzero(self, a: Self::Register) -> u8;
}

/// A register with the instruction set that works on it.
#[derive(Clone, Copy)]
pub struct Vector<S: Lanes> {
    simd: S,
    lanes: S::Register,
}

impl<S: Lanes> Vector<S> {
    /// The same number in all lanes.
    #[inline(always)]
    pub fn splat(simd: S, number: u64) -> Self {
        let lanes = simd.splat(number);
        Vector { simd, lanes }
    }

    /// 0 in all lanes.
    #[inline(always)]
    pub fn zero(simd: S) -> Self {
        Vector::splat(simd, 0)
    }

    /// Another number in all lanes.
    #[inline(always)]
    pub fn with(self, number: u64) -> Self {
        Vector::splat(self.simd, number)
    }

    /// The first numbers of a slice.
    #[inline(always)]
    pub fn load(simd: S, from: &[u64]) -> Self {
        let lanes = simd.load(from);
        Vector { simd, lanes }
    }

    /// The first bytes of a slice, one a lane.
    #[inline(always)]
    pub fn widen(simd: S, from: &[u8]) -> Self {
        let lanes = simd.widen(from);
        Vector { simd, lanes }
    }

    /// Stores all lanes at the start of a slice.
    #[inline(always)]
    pub fn store(self, to: &mut [u64]) {
        self.simd.store(self.lanes, to);
    }

    /// Stores numbers of at most 255 at the start of a slice; greater ones as 255.
    #[inline(always)]
    pub fn store_bytes(self, to: &mut [u8]) {
        let over = self.right::<8>().where_any(self.with(0xff));
        self.simd.narrow((self | over).lanes, to);
    }

    /// self & !other
    #[inline(always)]
    pub fn and_not(self, other: Self) -> Self {
        self.take(self.simd.and_not(self.lanes, other.lanes))
    }

    /// self + other, wrapping
    #[inline(always)]
    pub fn add(self, other: Self) -> Self {
        self.take(self.simd.add(self.lanes, other.lanes))
    }

    /// self - other, wrapping
    #[inline(always)]
    pub fn sub(self, other: Self) -> Self {
        self.take(self.simd.sub(self.lanes, other.lanes))
    }

    /// self << BITS
    #[inline(always)]
    pub fn left<const BITS: u32>(self) -> Self {
        self.take(self.simd.left::<BITS>(self.lanes))
    }

    /// self >> BITS
    #[inline(always)]
    pub fn right<const BITS: u32>(self) -> Self {
        self.take(self.simd.right::<BITS>(self.lanes))
    }

    /// self << bits in each lane
    #[inline(always)]
    pub fn left_by(self, bits: Self) -> Self {
        self.take(self.simd.left_by(self.lanes, bits.lanes))
    }

    /// self >> bits in each lane
    #[inline(always)]
    pub fn right_by(self, bits: Self) -> Self {
        self.take(self.simd.right_by(self.lanes, bits.lanes))
    }

    /// The board upside down.
    #[inline(always)]
    pub fn flip(self) -> Self {
        self.take(self.simd.flip(self.lanes))
    }

    /// The number of squares in each lane.
    #[inline(always)]
    pub fn count(self) -> Self {
        self.take(self.simd.count(self.lanes))
    }

    /// `squares` in the lanes where this set is not empty, nothing elsewhere.
    #[inline(always)]
    pub fn where_any(self, squares: Self) -> Self {
        self.take(self.simd.where_any(self.lanes, squares.lanes))
    }

    /// `squares` in the lanes where this set is empty, nothing elsewhere.
    #[inline(always)]
    pub fn where_none(self, squares: Self) -> Self {
        self.take(self.simd.where_none(self.lanes, squares.lanes))
    }

    /// A bit for each lane that is not empty.
    #[inline(always)]
    pub fn nonzero(self) -> u8 {
        self.simd.nonzero(self.lanes)
    }

    #[inline(always)]
    fn take(self, lanes: S::Register) -> Self {
        let simd = self.simd;
        Vector { simd, lanes }
    }
}

impl<S: Lanes> BitAnd for Vector<S> {
    type Output = Self;

    #[inline(always)]
    fn bitand(self, other: Self) -> Self {
        self.take(self.simd.and(self.lanes, other.lanes))
    }
}

impl<S: Lanes> BitOr for Vector<S> {
    type Output = Self;

    #[inline(always)]
    fn bitor(self, other: Self) -> Self {
        self.take(self.simd.or(self.lanes, other.lanes))
    }
}

impl<S: Lanes> BitXor for Vector<S> {
    type Output = Self;

    #[inline(always)]
    fn bitxor(self, other: Self) -> Self {
        self.take(self.simd.xor(self.lanes, other.lanes))
    }
}

impl<S: Lanes> Not for Vector<S> {
    type Output = Self;

    #[inline(always)]
    fn not(self) -> Self {
        self ^ self.with(!0)
    }
}

impl<S: Lanes> BitOrAssign for Vector<S> {
    #[inline(always)]
    fn bitor_assign(&mut self, other: Self) {
        *self = *self | other;
    }
}

impl<S: Lanes> BitAndAssign for Vector<S> {
    #[inline(always)]
    fn bitand_assign(&mut self, other: Self) {
        *self = *self & other;
    }
}
