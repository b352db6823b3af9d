//! From tables to the league: openings are counted, files carry their hash, a changed claim is void.

mod common;

use common::{GRID, dataset};
use hand_made_tables::{column, manifest, table, write};
use hobble_claim::Claim;
use hobble_claim::answer::{Rung, Standing};
use hobble_dataset::Dataset;
use hobble_report::Reported as _;
use hobble_sift::{Grid, ledger, sift};

#[test]
fn openings_are_counted_and_claims_stamped() {
    let dir = tempfile::tempdir().unwrap();
    let out = tempfile::tempdir().unwrap();
    let data = dataset(dir.path(), 1);
    let grid = Grid::parse("grid", GRID).unwrap();
    let ledger = ledger::of(dir.path());
    let first = sift(&data, &grid, out.path(), &ledger).unwrap();
    let league = &first.league;
    let games = league.games;
    assert_eq!(
        (games.search, games.locked, games.moves_in_both),
        (639, 639, 2)
    );
    assert_eq!(
        (league.opened, league.confirmed, league.opening),
        (1, 1, Some(1))
    );
    assert_eq!(league.claims[0].locked.rows, 639);
    let second = sift(&data, &grid, out.path(), &ledger).unwrap();
    assert_eq!(second.league.opening, Some(2));
    let text = hobble_report::text(&second.league.report());
    assert!(text.contains("opened 1 time before"), "{text}");
    assert!(!hobble_report::text(&league.report()).contains("before. It was"));

    let file = std::fs::read_to_string(out.path().join(&second.files[0].0)).unwrap();
    let claim = Claim::parse("c", "c.toml", &file).unwrap();
    let stamp = claim.confirmation.clone().unwrap();
    assert_eq!((stamp.hash.as_str(), stamp.opening), (&*claim.hash(), 2));
    let without_games = tempfile::tempdir().unwrap();
    dataset(without_games.path(), 1);
    std::fs::remove_dir_all(without_games.path().join("games")).unwrap();
    let data = Dataset::open(without_games.path()).unwrap();
    let standing = |file: &str| {
        let claim = Claim::parse("c", "c.toml", file).unwrap();
        let answer = hobble_claim::answer(&data, &claim).unwrap();
        (
            *answer.evidence.at(Rung::Confirmation),
            format!("{} {}", answer.sentences[4], answer.verdict),
        )
    };
    let (found, sentence) = standing(&file);
    assert!(found.holds(), "{found:?}");
    assert!(
        sentence.contains("Games that had been locked away confirm it."),
        "{sentence}"
    );
    assert!(
        sentence.contains("which confirms it. That half had been opened 1 time before"),
        "{sentence}"
    );
    let (found, sentence) = standing(&file.replace("k = 2\n", "k = 1\n"));
    assert_eq!(found, Standing::Changed);
    assert!(sentence.starts_with("Void"), "{sentence}");
    let (found, _) = standing(&file.replace("title = ", "quiz = 2\ntitle = "));
    assert!(found.holds());
}

/// Of tables with a row a side, the half of the games in which the owner is the stronger.
#[test]
fn games_are_chosen() {
    let dir = tempfile::tempdir().unwrap();
    let out = tempfile::tempdir().unwrap();
    dataset(dir.path(), 1);
    let sides = |color: &'static str| (0..1280u32).map(move |game| (game, color));
    let sides: Vec<(u32, &str)> = sides("white").chain(sides("black")).collect();
    let stronger = |(game, color): &(u32, &str)| match (game % 2, *color) {
        (0, "white") => "50..199",
        _ => "-49..49",
    };
    let columns = vec![
        column("game", sides.iter().map(|side| side.0).collect::<Vec<_>>()),
        column("color", sides.iter().map(|side| side.1).collect::<Vec<_>>()),
        column(
            "rating_diff",
            sides.iter().map(stronger).collect::<Vec<_>>(),
        ),
    ];
    write(dir.path(), "sides", "a", 0, &table(columns));
    manifest(dir.path(), &[("a", 1)]);
    let data = Dataset::open(dir.path()).unwrap();
    let of = |games: &str| {
        let grid = Grid::parse("grid", &format!("{GRID}{games}")).unwrap();
        sift(&data, &grid, out.path(), &ledger::of(dir.path()))
    };
    let all = of("").unwrap().league;
    assert_eq!(
        (all.games.games, all.games.search, all.games.locked),
        (1280, 639, 639)
    );
    let some = of("[games]\nrating_diff = [\"50..199\"]\n").unwrap();
    let games = some.league.games;
    assert_eq!((games.games, games.search, games.locked), (640, 320, 320));
    assert_eq!(some.league.claims[0].locked.rows, 320);
    let chosen = some.league.dataset.chosen.unwrap();
    assert_eq!((chosen.sides, chosen.games), (640, 640));
    // The claim's file looks at the same sides.
    let file = std::fs::read_to_string(out.path().join(&some.files[0].0)).unwrap();
    assert!(file.contains("rating_diff = [\"50..199\"]"), "{file}");
    assert_ne!(some.league.claims[0].hash, all.claims[0].hash);
    let none = of("[games]\nrating_diff = [\">=200\"]\n").unwrap_err();
    assert!(
        none.to_string().contains("Rating difference: >=200"),
        "{none}"
    );
}

/// A ledger that cannot be read stops the work before the half is opened.
#[test]
fn a_damaged_ledger_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let data = dataset(dir.path(), 1);
    let grid = Grid::parse("grid", GRID).unwrap();
    let ledger = ledger::of(dir.path());
    std::fs::write(&ledger, "{}").unwrap();
    let error = sift(&data, &grid, dir.path(), &ledger)
        .unwrap_err()
        .to_string();
    assert!(
        error.contains("sift-openings.json: invalid: missing field"),
        "{error}"
    );
    assert_eq!(std::fs::read_to_string(&ledger).unwrap(), "{}");
}

/// Openings of which shares were written down one by one are read, and stay as they are.
#[test]
fn earlier_ledgers_are_read() {
    let dir = tempfile::tempdir().unwrap();
    let data = dataset(dir.path(), 1);
    let grid = Grid::parse("grid", GRID).unwrap();
    let ledger = ledger::of(dir.path());
    let of_shares = r#"{"hobble":"0.1.0","grid":"00","tried":1,"claims":["11"],"shares":[{"index":0,"of":2},{"index":1,"of":2}]}"#;
    let shares = serde_json::from_str::<ledger::Opening>(of_shares).unwrap();
    assert_eq!(shares.shares.len(), 2);
    std::fs::write(
        &ledger,
        format!(r#"{{"format":2,"openings":[{of_shares}]}}"#),
    )
    .unwrap();
    let league = sift(&data, &grid, dir.path(), &ledger).unwrap().league;
    assert_eq!(league.opening, Some(2));
    let openings = ledger::Ledger::read(&ledger).unwrap().openings;
    assert_eq!((&openings[0], openings[1].shares.len()), (&shares, 0));
}
