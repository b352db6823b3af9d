//! A claim about restrained knights, put to rows worked out by hand.

use hand_made_tables::{Decision, Turn, decisions, manifest, no_spells, turns, write};
use hobble_claim::{Claim, ClaimAnswer};
use hobble_conditions::Overrides;
use hobble_dataset::Dataset;

/// The claim with more lines.
pub fn claim(more: &str) -> Claim {
    let head = "format = 1\nabout = \"claim\"\ntitle = \"T\"\ntext = \"X\"\n";
    let own = "kinds = [\"knight\"]\nrestrained = \"yes\"\nquiz = 0\n";
    let claim = Claim::parse("c", "c.toml", &format!("{head}{own}{more}")).unwrap();
    claim.with(&Overrides::default()).unwrap()
}

/// The answer of tables with these turns and, where they are given, decisions. There is no spell:
/// what is asked for here does not stand on them.
pub fn ask(rows: &[Turn], chances: Option<&[Decision]>, claim: &Claim) -> ClaimAnswer {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "turns", "a", 0, &turns(rows));
    write(dir.path(), "spells", "a", 0, &no_spells());
    if let Some(chances) = chances {
        write(dir.path(), "decisions", "a", 0, &decisions(chances));
    }
    manifest(dir.path(), &[("a", 1)]);
    hobble_claim::answer(&Dataset::open(dir.path()).unwrap(), claim).unwrap()
}
