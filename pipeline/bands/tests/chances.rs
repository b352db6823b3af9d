//! Chances to restrain in the report by rating band, on tables made by hand.

mod common;

use hand_made_tables::{Decision, column, decisions, exposure, manifest, no_spells, table, write};
use hobble_bands::{BandCell, BandReport, BandsAnswer};
use hobble_dataset::Dataset;

const HEAD: &str = "format = 1\nabout = \"bands\"\ntitle = \"T\"\ntext = \"x\"\nsplit = [\"band\"]\nminimum_turns = 1\nminimum_games = 1\nminimum_folds = 1\n";

/// Ten games in ten folds without a move; White is rated 1400-1599, Black 1600-1799. White has
/// a chance in each, one of 20 quiet moves, and takes it in even games; Black has one in the
/// first game, two of three moves, and misses it.
fn answer(with_decisions: bool) -> BandsAnswer {
    let dir = tempfile::tempdir().unwrap();
    let number: Vec<u32> = (1..=10).collect();
    let n = number.len();
    let games = common::games(&number, vec![None; n], vec![None; n]);
    let moves = table(vec![
        column("game", Vec::<u32>::new()),
        column("ply", Vec::<u16>::new()),
        column("mover", Vec::<&str>::new()),
        column("captured", Vec::<Option<&str>>::new()),
        column("promotion", Vec::<Option<&str>>::new()),
        column("taken", Vec::<u8>::new()),
    ]);
    let mut rows: Vec<Decision> = number
        .iter()
        .map(|&game| {
            let chance = if game % 2 == 0 {
                Decision::taken()
            } else {
                Decision::default()
            };
            Decision { game, ..chance }
        })
        .collect();
    rows.push(Decision {
        color: "black",
        leaving: [Some(2), Some(0), None],
        quiet: 3,
        ..Decision::default()
    });
    write(dir.path(), "games", "a", 0, &games);
    write(dir.path(), "moves", "a", 0, &moves);
    write(dir.path(), "spells", "a", 0, &no_spells());
    write(dir.path(), "exposure", "a", 0, &exposure(&[]));
    if with_decisions {
        write(dir.path(), "decisions", "a", 0, &decisions(&rows));
    }
    manifest(dir.path(), &[("a", 1)]);
    let report = BandReport::parse("b", "b.toml", HEAD).unwrap();
    hobble_bands::answer(&Dataset::open(dir.path()).unwrap(), &report).unwrap()
}

fn cell<'a>(answer: &'a BandsAnswer, measure: &str, level: &str) -> &'a BandCell {
    let mut cells = answer.cells.iter();
    let found = cells
        .find(|cell| cell.measure.name() == measure && cell.level == level && cell.kind == "all");
    found.unwrap_or_else(|| panic!("no {measure} of {level}"))
}

#[test]
fn chances_by_hand() {
    let answer = answer(true);
    let of = |measure, level| {
        let cell = cell(&answer, measure, level);
        (cell.estimate.unwrap(), cell.n)
    };
    // Each chance in the sample stands for sixteen.
    assert_eq!(of("chances_per_game", "1400-1599"), (16.0, 10));
    assert_eq!(of("chances_per_game", "1600-1799"), (1.6, 10));
    assert_eq!(of("chances_per_game", "all"), (8.8, 20));
    assert_eq!(of("chances_taken", "1400-1599"), (0.5, 10));
    assert_eq!(of("chances_taken", "1600-1799"), (0.0, 1));
    assert_eq!(of("chances_at_random", "1400-1599"), (0.05, 10));
    // Two thirds, to the nearest thousandth.
    assert_eq!(of("chances_at_random", "1600-1799"), (0.667, 1));
    assert_eq!(cell(&answer, "chances_at_random", "all").n, 11);
    let interval = cell(&answer, "chances_taken", "1400-1599");
    assert!(interval.low.unwrap() < 0.5 && interval.high.unwrap() > 0.5);
}

/// Tables of an earlier scan have no decisions: the rest of the report stands.
#[test]
fn no_table_no_chances() {
    let answer = answer(false);
    let chances = |cell: &&BandCell| cell.measure.name().starts_with("chances");
    assert_eq!(answer.cells.iter().filter(chances).count(), 0);
    assert!(!answer.cells.is_empty());
}
