//! Lanes in plain Rust, for machines without the wider instruction sets.

use super::vector::Lanes;

/// Lanes that any machine has.
#[derive(Clone, Copy, Debug)]
pub struct Portable;

/// Lanes of a register: the 128-bit registers that the usual targets have.
const COUNT: usize = 2;

#[inline(always)]
fn map(a: [u64; COUNT], f: impl Fn(u64) -> u64) -> [u64; COUNT] {
    std::array::from_fn(|lane| f(a[lane]))
}

#[inline(always)]
fn zip(a: [u64; COUNT], b: [u64; COUNT], f: impl Fn(u64, u64) -> u64) -> [u64; COUNT] {
    std::array::from_fn(|lane| f(a[lane], b[lane]))
}

/// All ones where a number is not 0. (Comparing two numbers in a register of two needs more
/// than the smallest instruction sets have.)
#[inline(always)]
fn is_any(a: u64) -> u64 {
    ((a | a.wrapping_neg()) >> 63).wrapping_neg()
}

/// A shift by `by` bits with `shifted` the number shifted by its lowest six.
#[inline(always)]
fn beyond(by: u64, shifted: u64) -> u64 {
    shifted & u64::from(by < 64).wrapping_neg()
}

impl Lanes for Portable {
    type Register = [u64; COUNT];
    const COUNT: usize = COUNT;

    #[inline(always)]
    fn splat(self, number: u64) -> Self::Register {
        [number; COUNT]
    }

    #[inline(always)]
    fn load(self, from: &[u64]) -> Self::Register {
        let from = &from[..COUNT];
        std::array::from_fn(|lane| from[lane])
    }

    #[inline(always)]
    fn store(self, lanes: Self::Register, to: &mut [u64]) {
        to[..COUNT].copy_from_slice(&lanes);
    }

    #[inline(always)]
    fn widen(self, from: &[u8]) -> Self::Register {
        let from = &from[..COUNT];
        std::array::from_fn(|lane| u64::from(from[lane]))
    }

    #[inline(always)]
    fn narrow(self, lanes: Self::Register, to: &mut [u8]) {
        let to = &mut to[..COUNT];
        for (to, lane) in to.iter_mut().zip(lanes) {
            *to = lane as u8;
        }
    }

    #[inline(always)]
    fn and(self, a: Self::Register, b: Self::Register) -> Self::Register {
        zip(a, b, |a, b| a & b)
    }

    #[inline(always)]
    fn or(self, a: Self::Register, b: Self::Register) -> Self::Register {
        zip(a, b, |a, b| a | b)
    }

    #[inline(always)]
    fn xor(self, a: Self::Register, b: Self::Register) -> Self::Register {
        zip(a, b, |a, b| a ^ b)
    }

    #[inline(always)]
    fn and_not(self, a: Self::Register, b: Self::Register) -> Self::Register {
        zip(a, b, |a, b| a & !b)
    }

    #[inline(always)]
    fn add(self, a: Self::Register, b: Self::Register) -> Self::Register {
        zip(a, b, u64::wrapping_add)
    }

    #[inline(always)]
    fn sub(self, a: Self::Register, b: Self::Register) -> Self::Register {
        zip(a, b, u64::wrapping_sub)
    }

    #[inline(always)]
    fn left<const BITS: u32>(self, a: Self::Register) -> Self::Register {
        map(a, |a| a << BITS)
    }

    #[inline(always)]
    fn right<const BITS: u32>(self, a: Self::Register) -> Self::Register {
        map(a, |a| a >> BITS)
    }

    #[inline(always)]
    fn left_by(self, a: Self::Register, b: Self::Register) -> Self::Register {
        zip(a, b, |a, b| beyond(b, a.wrapping_shl(b as u32)))
    }

    #[inline(always)]
    fn right_by(self, a: Self::Register, b: Self::Register) -> Self::Register {
        zip(a, b, |a, b| beyond(b, a.wrapping_shr(b as u32)))
    }

    #[inline(always)]
    fn flip(self, a: Self::Register) -> Self::Register {
        map(a, u64::swap_bytes)
    }

    #[inline(always)]
    fn count(self, a: Self::Register) -> Self::Register {
        map(a, |a| u64::from(a.count_ones()))
    }

    #[inline(always)]
    fn where_any(self, asked: Self::Register, a: Self::Register) -> Self::Register {
        zip(asked, a, |asked, a| is_any(asked) & a)
    }

    #[inline(always)]
    fn where_none(self, asked: Self::Register, a: Self::Register) -> Self::Register {
        zip(asked, a, |asked, a| !is_any(asked) & a)
    }

    #[inline(always)]
    fn nonzero(self, a: Self::Register) -> u8 {
        let bit = |(lane, &number): (usize, &u64)| u8::from(number != 0) << lane;
        a.iter().enumerate().map(bit).fold(0, |set, bit| set | bit)
    }
}
