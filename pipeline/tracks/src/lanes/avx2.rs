//! Four lanes of AVX2.

use std::arch::x86_64::__m256i;

use pulp::cast;
use pulp::x86::V3;

use super::vector::Lanes;

impl Lanes for V3 {
    type Register = __m256i;
    const COUNT: usize = 4;

    #[inline(always)]
    fn splat(self, number: u64) -> __m256i {
        self.avx._mm256_set1_epi64x(number as i64)
    }

    #[inline(always)]
    fn load(self, from: &[u64]) -> __m256i {
        let from = &from[..4];
        cast([from[0], from[1], from[2], from[3]])
    }

    #[inline(always)]
    fn store(self, lanes: __m256i, to: &mut [u64]) {
        to[..4].copy_from_slice(&cast::<_, [u64; 4]>(lanes));
    }

    #[inline(always)]
    fn widen(self, from: &[u8]) -> __m256i {
        let from = &from[..4];
        let bytes = i32::from_le_bytes([from[0], from[1], from[2], from[3]]);
        self.avx2
            ._mm256_cvtepu8_epi64(self.sse2._mm_cvtsi32_si128(bytes))
    }

    #[inline(always)]
    fn narrow(self, lanes: __m256i, to: &mut [u8]) {
        let lanes: [u64; 4] = cast(lanes);
        to[..4].copy_from_slice(&lanes.map(|lane| lane as u8));
    }

    #[inline(always)]
    fn and(self, a: __m256i, b: __m256i) -> __m256i {
        self.avx2._mm256_and_si256(a, b)
    }

    #[inline(always)]
    fn or(self, a: __m256i, b: __m256i) -> __m256i {
        self.avx2._mm256_or_si256(a, b)
    }

    #[inline(always)]
    fn xor(self, a: __m256i, b: __m256i) -> __m256i {
        self.avx2._mm256_xor_si256(a, b)
    }

    #[inline(always)]
    fn and_not(self, a: __m256i, b: __m256i) -> __m256i {
        self.avx2._mm256_andnot_si256(b, a)
    }

    #[inline(always)]
    fn add(self, a: __m256i, b: __m256i) -> __m256i {
        self.avx2._mm256_add_epi64(a, b)
    }

    #[inline(always)]
    fn sub(self, a: __m256i, b: __m256i) -> __m256i {
        self.avx2._mm256_sub_epi64(a, b)
    }

    #[inline(always)]
    fn left<const BITS: u32>(self, a: __m256i) -> __m256i {
        let bits = self.sse2._mm_cvtsi32_si128(BITS as i32);
        self.avx2._mm256_sll_epi64(a, bits)
    }

    #[inline(always)]
    fn right<const BITS: u32>(self, a: __m256i) -> __m256i {
        let bits = self.sse2._mm_cvtsi32_si128(BITS as i32);
        self.avx2._mm256_srl_epi64(a, bits)
    }

    #[inline(always)]
    fn left_by(self, a: __m256i, b: __m256i) -> __m256i {
        self.avx2._mm256_sllv_epi64(a, b)
    }

    #[inline(always)]
    fn right_by(self, a: __m256i, b: __m256i) -> __m256i {
        self.avx2._mm256_srlv_epi64(a, b)
    }

    #[inline(always)]
    fn flip(self, a: __m256i) -> __m256i {
        // Each half of the register is shuffled by itself.
        const ORDER: [u8; 16] = [7, 6, 5, 4, 3, 2, 1, 0, 15, 14, 13, 12, 11, 10, 9, 8];
        self.avx2._mm256_shuffle_epi8(a, cast([ORDER; 2]))
    }

    #[inline(always)]
    fn count(self, a: __m256i) -> __m256i {
        let (low, high) = (
            bits_of_low_halves(self, a),
            bits_of_low_halves(self, self.right::<4>(a)),
        );
        let bytes = self.avx2._mm256_add_epi8(low, high);
        self.avx2._mm256_sad_epu8(bytes, cast([0_u8; 32]))
    }

    #[inline(always)]
    fn where_any(self, asked: __m256i, a: __m256i) -> __m256i {
        let none = self.avx2._mm256_cmpeq_epi64(asked, cast([0_u8; 32]));
        self.avx2._mm256_andnot_si256(none, a)
    }

    #[inline(always)]
    fn where_none(self, asked: __m256i, a: __m256i) -> __m256i {
        let none = self.avx2._mm256_cmpeq_epi64(asked, cast([0_u8; 32]));
        self.avx2._mm256_and_si256(none, a)
    }

    #[inline(always)]
    fn nonzero(self, a: __m256i) -> u8 {
        let none = self.avx2._mm256_cmpeq_epi64(a, cast([0_u8; 32]));
        let none = self.avx._mm256_castsi256_pd(none);
        self.avx._mm256_movemask_pd(none) as u8 ^ 15
    }
}

/// For each byte, the number of bits set in its lower half.
#[inline(always)]
fn bits_of_low_halves(simd: V3, a: __m256i) -> __m256i {
    const BITS: [u8; 16] = [0, 1, 1, 2, 1, 2, 2, 3, 1, 2, 2, 3, 2, 3, 3, 4];
    let low = simd.avx2._mm256_and_si256(a, cast([15_u8; 32]));
    simd.avx2._mm256_shuffle_epi8(cast([BITS; 2]), low)
}
