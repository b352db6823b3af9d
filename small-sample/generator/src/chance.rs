//! Seeded draws. Only whole numbers, and only our own arithmetic over the raw stream, so
//! that neither the machine nor a later version of a sampling library changes a season.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

/// A stream of draws. Two streams of one seed are independent, so a game does not change
/// when the game before it does.
pub struct Chance(ChaCha8Rng);

impl Chance {
    /// The stream numbered `stream` of `seed`.
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut source = ChaCha8Rng::seed_from_u64(seed);
        source.set_stream(stream);
        Self(source)
    }

    /// A number from 0 to `bound` − 1; 0 where `bound` is 0. (Multiply and shift; the
    /// bias, below 2⁻³², does not matter here.)
    pub fn below(&mut self, bound: u32) -> u32 {
        ((u64::from(self.0.next_u32()) * u64::from(bound)) >> 32) as u32
    }

    /// True in `part` of 1000 draws.
    pub fn permille(&mut self, part: u32) -> bool {
        self.below(1000) < part
    }

    /// A number from −`most` to `most`.
    pub fn around(&mut self, most: i32) -> i32 {
        let most = most.max(0);
        self.below(2 * most as u32 + 1) as i32 - most
    }

    /// An index drawn by the weights. The weights must not all be 0.
    pub fn weighted(&mut self, weights: impl Iterator<Item = u32> + Clone) -> usize {
        let total = weights.clone().sum();
        let mut left = self.below(total);
        let mut last = 0;
        for (index, weight) in weights.enumerate() {
            if left < weight {
                return index;
            }
            left -= weight;
            last = index;
        }
        last
    }

    /// Puts the items in a drawn order.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for end in (1..items.len()).rev() {
            items.swap(end, self.below(end as u32 + 1) as usize);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_seed_gives_one_stream() {
        let draw = |seed, stream| -> Vec<u32> {
            let mut chance = Chance::new(seed, stream);
            (0..20).map(|_| chance.below(1000)).collect()
        };
        assert_eq!(draw(5, 1), draw(5, 1));
        assert_ne!(draw(5, 1), draw(5, 2));
        assert_ne!(draw(5, 1), draw(6, 1));
    }

    #[test]
    fn draws_stay_in_their_bounds() {
        let mut chance = Chance::new(1, 0);
        let mut seen = [0u32; 7];
        for _ in 0..7000 {
            seen[(chance.around(3) + 3) as usize] += 1;
        }
        assert!(
            seen.iter().all(|&count| (800..1200).contains(&count)),
            "{seen:?}"
        );
        assert_eq!(chance.below(0), 0);
    }

    #[test]
    fn a_weight_of_nothing_is_never_drawn() {
        let mut chance = Chance::new(2, 0);
        for _ in 0..500 {
            assert_ne!(chance.weighted([3, 0, 5].into_iter()), 1);
        }
    }
}
