//! Which turns are in the sample of the table `turns` (definitions, section 8).

use std::num::NonZeroU32;

use xxhash_rust::xxh3::xxh3_64;

/// Whether a turn is in a sample of one turn in so many: it depends on the game's id and the
/// turn alone, so that the same turns are in it wherever the game stands, and a sample of one
/// in 16 is part of one in 8.
#[inline]
pub fn is_sampled(game_id: u64, ply: u16, one_in: NonZeroU32) -> bool {
    let mut bytes = [0; 10];
    bytes[..8].copy_from_slice(&game_id.to_le_bytes());
    bytes[8..].copy_from_slice(&ply.to_le_bytes());
    let hash = xxh3_64(&bytes);
    let one_in = u64::from(one_in.get());
    // A division for each turn costs as much as its hash.
    if one_in.is_power_of_two() {
        hash & (one_in - 1) == 0
    } else {
        hash.is_multiple_of(one_in)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(one_in: u32) -> Vec<(u64, u16)> {
        let one_in = NonZeroU32::new(one_in).unwrap();
        let turns = (0..400).flat_map(|game| (0..80).map(move |ply| (game * 0x9E37_79B9, ply)));
        turns
            .filter(|&(game, ply)| is_sampled(game, ply, one_in))
            .collect()
    }

    #[test]
    fn a_sample_holds_its_share_and_is_part_of_a_denser_one() {
        let all = sample(1);
        assert_eq!(all.len(), 32_000);
        let (dense, thin) = (sample(4), sample(16));
        assert!(sample(12).iter().all(|turn| dense.contains(turn)));
        assert!(thin.iter().all(|turn| dense.contains(turn)));
        // 2,000 expected, with a standard deviation of 43.
        assert!((1_800..2_200).contains(&thin.len()), "{}", thin.len());
    }
}
