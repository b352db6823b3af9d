//! The grid and its claims.

use std::collections::BTreeSet;

use hobble_claim::Claim;
use hobble_sift::Grid;
use hobble_sift::grid::SHIPPED;

/// Names are file names and differ; each file is read back as the claim it is of.
#[test]
fn claims_of_the_shipped_grid() {
    let grid = Grid::parse("grid", SHIPPED).unwrap();
    let tried = grid.tried();
    let names: BTreeSet<&str> = tried.iter().map(|tried| &*tried.claim.name).collect();
    assert_eq!(names.len(), tried.len());
    let hashes: BTreeSet<String> = tried.iter().map(|tried| tried.claim.hash()).collect();
    assert_eq!(hashes.len(), tried.len());
    for tried in tried {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        assert!(tried.claim.name.chars().all(plain), "{}", tried.claim.name);
        let again = Claim::parse(&tried.claim.name, "x.toml", &tried.text).unwrap();
        assert_eq!(again, tried.claim);
        assert_eq!(
            (again.kinds.as_slice(), again.k),
            (&[tried.kind][..], tried.k)
        );
    }
}

/// What is written instead of a part of the shipped grid, and what the message says.
const MISTAKES: [(&str, &str, &str); 6] = [
    ("format = 1", "format = 2", "format 2, this program reads 1"),
    (
        "[2, 4, 8]",
        "[1]",
        "restrained for two turns at least, not 1",
    ),
    (
        "by = [\"pawn\"",
        "by = [\"king\"",
        "field \"by\": \"king\" is not one of",
    ),
    ("by = [", "k = [", "conditions: k cannot stand here"),
    (
        "k = [0, 1, 2]",
        "k = [0, 9]",
        "field \"k\": 9 is not a whole number",
    ),
    ("kinds = [", "kind = [", "line 4: unknown field"),
];

#[test]
fn games_are_of_all_claims() {
    let games = "[games]\nsince = \"2024\"\nplayer_title = [\"FM\", \"IM\"]\nband_width = 400\n";
    let grid = Grid::parse("grid", &format!("{SHIPPED}\n{games}")).unwrap();
    for tried in grid.tried() {
        assert_eq!(tried.claim.since.as_deref(), Some("2024"));
        assert_eq!(tried.claim.player_title, ["FM", "IM"]);
        assert_eq!(tried.claim.band_width, 400);
        assert!(
            tried.text.contains("\nsince = \"2024\"\n"),
            "{}",
            tried.text
        );
    }
    let without = Grid::parse("grid", SHIPPED).unwrap();
    assert_eq!(grid.tried().len(), without.tried().len());
    let message = |more: &str| {
        let grid = Grid::parse("grid", &format!("{SHIPPED}\n{more}"));
        grid.unwrap_err().to_string()
    };
    let got = message("since = [\"2024\"]\n");
    assert!(
        got.contains("conditions: since is of all claims together"),
        "{got}"
    );
    let got = message("[games]\nk = 2\n");
    assert!(
        got.contains("games: k cannot stand here; band_width, since"),
        "{got}"
    );
    let got = message("[games]\nrepeats = \"perhaps\"\n");
    assert!(got.contains("\"perhaps\" is not one of"), "{got}");
    let got = message("band = [[\"1400-1599\"]]\n[games]\nband_width = 300\n");
    assert!(got.contains("no rating band \"1400-1599\""), "{got}");
}

#[test]
fn mistakes_are_named() {
    let message = |text: &str| Grid::parse("grid.toml", text).unwrap_err().to_string();
    assert!(message("format = 2").contains("grid.toml: line 1"));
    for (shipped, instead, expected) in MISTAKES {
        assert!(SHIPPED.contains(shipped), "{shipped}");
        let got = message(&SHIPPED.replace(shipped, instead));
        assert!(got.contains(expected), "{got}");
    }
}
