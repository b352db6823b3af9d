//! Simulated archives, and what a claim about knights says of them.

use hand_made_tables::{Turn, manifest, turns, write};
use hobble_claim::{Claim, ClaimAnswer};
use hobble_dataset::Dataset;

/// Games of an archive: twelve in each of 64 folds.
pub const GAMES: u32 = 768;

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
