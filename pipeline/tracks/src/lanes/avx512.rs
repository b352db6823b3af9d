//! Eight lanes of AVX-512 (F, BW, CD, DQ, VL).

use std::arch::x86_64::__m512i;

use pulp::cast;
use pulp::x86::V4;

use super::vector::Lanes;

impl Lanes for V4 {
    type Register = __m512i;
    const COUNT: usize = 8;

    #[inline(always)]
    fn splat(self, number: u64) -> __m512i {
        self.avx512f._mm512_set1_epi64(number as i64)
    }

    #[inline(always)]
    fn load(self, from: &[u64]) -> __m512i {
        let from = &from[..8];
        cast::<[u64; 8], _>(std::array::from_fn(|lane| from[lane]))
    }

    #[inline(always)]
    fn store(self, lanes: __m512i, to: &mut [u64]) {
        to[..8].copy_from_slice(&cast::<_, [u64; 8]>(lanes));
    }

    #[inline(always)]
    fn widen(self, from: &[u8]) -> __m512i {
        let from = &from[..8];
        let bytes = u64::from_le_bytes(std::array::from_fn(|lane| from[lane]));
        self.avx512f._mm512_cvtepu8_epi64(cast([bytes, 0]))
    }

    #[inline(always)]
    fn narrow(self, lanes: __m512i, to: &mut [u8]) {
        let bytes: [u8; 16] = cast(self.avx512f._mm512_cvtepi64_epi8(lanes));
        to[..8].copy_from_slice(&bytes[..8]);
    }

    #[inline(always)]
    fn and(self, a: __m512i, b: __m512i) -> __m512i {
        self.avx512f._mm512_and_si512(a, b)
    }

    #[inline(always)]
    fn or(self, a: __m512i, b: __m512i) -> __m512i {
        self.avx512f._mm512_or_si512(a, b)
    }

    #[inline(always)]
    fn xor(self, a: __m512i, b: __m512i) -> __m512i {
        self.avx512f._mm512_xor_si512(a, b)
    }

    #[inline(always)]
    fn and_not(self, a: __m512i, b: __m512i) -> __m512i {
        self.avx512f._mm512_andnot_si512(b, a)
    }

    #[inline(always)]
    fn add(self, a: __m512i, b: __m512i) -> __m512i {
        self.avx512f._mm512_add_epi64(a, b)
    }

    #[inline(always)]
    fn sub(self, a: __m512i, b: __m512i) -> __m512i {
        self.avx512f._mm512_sub_epi64(a, b)
    }

    #[inline(always)]
    fn left<const BITS: u32>(self, a: __m512i) -> __m512i {
        self.avx512f._mm512_slli_epi64::<BITS>(a)
    }

    #[inline(always)]
    fn right<const BITS: u32>(self, a: __m512i) -> __m512i {
        self.avx512f._mm512_srli_epi64::<BITS>(a)
    }

    #[inline(always)]
    fn left_by(self, a: __m512i, b: __m512i) -> __m512i {
        self.avx512f._mm512_sllv_epi64(a, b)
    }

    #[inline(always)]
    fn right_by(self, a: __m512i, b: __m512i) -> __m512i {
        self.avx512f._mm512_srlv_epi64(a, b)
    }

    #[inline(always)]
    fn flip(self, a: __m512i) -> __m512i {
        // Each quarter of the register is shuffled by itself.
        const ORDER: [u8; 16] = [7, 6, 5, 4, 3, 2, 1, 0, 15, 14, 13, 12, 11, 10, 9, 8];
        self.avx512bw._mm512_shuffle_epi8(a, cast([ORDER; 4]))
    }

    #[inline(always)]
    fn count(self, a: __m512i) -> __m512i {
        let (low, high) = (
            bits_of_low_halves(self, a),
            bits_of_low_halves(self, self.right::<4>(a)),
        );
        let bytes = self.avx512bw._mm512_add_epi8(low, high);
        self.avx512bw._mm512_sad_epu8(bytes, cast([0_u8; 64]))
    }

    #[inline(always)]
    fn where_any(self, asked: __m512i, a: __m512i) -> __m512i {
        let any = self.avx512f._mm512_test_epi64_mask(asked, asked);
        self.avx512f._mm512_maskz_mov_epi64(any, a)
    }

    #[inline(always)]
    fn where_none(self, asked: __m512i, a: __m512i) -> __m512i {
        let none = self.avx512f._mm512_testn_epi64_mask(asked, asked);
        self.avx512f._mm512_maskz_mov_epi64(none, a)
    }

    #[inline(always)]
    fn nonzero(self, a: __m512i) -> u8 {
        self.avx512f._mm512_test_epi64_mask(a, a)
    }
}

/// For each byte, the number of bits set in its lower half.
#[inline(always)]
fn bits_of_low_halves(simd: V4, a: __m512i) -> __m512i {
    const BITS: [u8; 16] = [0, 1, 1, 2, 1, 2, 2, 3, 1, 2, 2, 3, 2, 3, 3, 4];
    let low = simd.avx512f._mm512_and_si512(a, cast([15_u8; 64]));
    simd.avx512bw._mm512_shuffle_epi8(cast([BITS; 4]), low)
}
