//! Numbers for simulated games: the same from a seed on every machine.

/// Uniform numbers from 0 to 1 by splitmix64 (Steele, Lea and Flood, OOPSLA 2014; cited from
/// memory).
pub struct Chance(pub u64);

impl Chance {
    /// The next number.
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Whether the next number is below a chance.
    pub fn is(&mut self, chance: f64) -> bool {
        self.uniform() < chance
    }
}
