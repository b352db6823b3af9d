//! Simulated archives, and what a claim about knights says of them.

use hand_made_tables::{Turn, manifest, turns, write};
use hobble_claim::{Claim, ClaimAnswer};
use hobble_dataset::Dataset;

/// Games of an archive: twelve in each of 64 folds.
pub const GAMES: u32 = 768;

/// Uniform numbers from 0 to 1 by splitmix64 (Steele, Lea and Flood, OOPSLA 2014; cited from
/// memory).
pub struct Chance(pub u64);

impl Chance {
    /// The next number.
    pub fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Whether the next number is below a chance.
    pub fn is(&mut self, chance: f64) -> bool {
        self.next() < chance
    }
}

/// What a claim about knights restrained at one square says of these rows; `more` stands in its file.
pub fn ask(rows: &[Turn], more: &str) -> ClaimAnswer {
    let text = format!(
        "format = 1\nabout = \"claim\"\ntitle = \"T\"\ntext = \"X\"\nkinds = [\"knight\"]\nk = 1\nrestrained = \"yes\"\nquiz = 0\n{more}\n"
    );
    let claim = Claim::parse("c", "c.toml", &text).unwrap();
    let claim = claim
        .with(&hobble_conditions::Overrides::default())
        .unwrap();
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "turns", "a", 0, &turns(rows));
    write(dir.path(), "spells", "a", 0, &hand_made_tables::no_spells());
    manifest(dir.path(), &[("a", 1)]);
    hobble_claim::answer(&Dataset::open(dir.path()).unwrap(), &claim).unwrap()
}
