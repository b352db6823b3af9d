//! The report by rating band on tables made by hand.

mod common;

use std::path::Path;

use arrow_array::RecordBatch;
use hand_made_tables::{Exposure, column, exposure, manifest, read, table, write};
use hobble_bands::{BandCell, BandReport, BandsAnswer};
use hobble_conditions::counted::Counted;
use hobble_dataset::Dataset;
use hobble_terms::Table;

const HEAD: &str = "format = 1\nabout = \"bands\"\ntitle = \"T\"\ntext = \"x\"\n";

/// Ten games in ten folds, of four plies each; White is rated 1400-1599 and Black 1600-1799,
/// and in the last game Black moves first from a start with two queens.
fn tables(dir: &Path) {
    part(dir, 0, (1..=10).collect());
    manifest(dir, &[("a", 1)]);
}

/// A part with these of the ten games.
fn part(dir: &Path, part: u32, number: Vec<u32>) {
    for (name, rows) in [
        ("games", games(&number)),
        ("moves", moves(&number)),
        ("spells", spells(&number)),
        ("exposure", cube(&number)),
    ] {
        write(dir, name, "a", part, &rows);
    }
}

fn games(number: &[u32]) -> RecordBatch {
    let fen = |&n: &u32| (n == 10).then_some("q3k3/8/8/8/8/8/8/Q3K3 b - - 0 1");
    let eco = |&n: &u32| (n != 10).then_some("B12");
    common::games(
        number,
        number.iter().map(eco).collect(),
        number.iter().map(fen).collect(),
    )
}

/// Ply 1 takes as many squares as the game has its number, ply 2 captures a queen, the
/// rest take nothing. Small row groups part the games.
fn moves(number: &[u32]) -> RecordBatch {
    let n = number.len();
    let mut rows: Vec<(u32, u16)> = Vec::new();
    for &game in number {
        rows.extend((1..=4).map(|ply| (game, ply)));
    }
    table(vec![
        column("game", rows.iter().map(|r| r.0).collect::<Vec<_>>()),
        column("ply", rows.iter().map(|r| r.1).collect::<Vec<_>>()),
        column(
            "mover",
            rows.iter()
                .map(|r| if r.1 == 2 { "queen" } else { "pawn" })
                .collect::<Vec<_>>(),
        ),
        column(
            "captured",
            rows.iter()
                .map(|r| (r.1 == 2).then_some("queen"))
                .collect::<Vec<_>>(),
        ),
        column("promotion", vec![None::<&str>; 4 * n]),
        column(
            "taken",
            rows.iter()
                .map(|r| if r.1 == 1 { r.0 as u16 } else { 0 })
                .collect::<Vec<_>>(),
        ),
    ])
}

/// A knight of White in each game held for two turns, freed in even games and lost in odd
/// ones; and a spell of Black's for k = 0 and 1 only, which k = 2 passes over. Those of games 1 to 6
/// are restraints; ten moves after the landmark at ply 3 end with ply 23.
fn spells(number: &[u32]) -> RecordBatch {
    let n = number.len();
    let mut game = number.to_vec();
    game.extend(number);
    let of_white = |at: usize| at < n;
    table(vec![
        column("game", game.clone()),
        column(
            "color",
            (0..2 * n)
                .map(|i| if of_white(i) { "white" } else { "black" })
                .collect::<Vec<_>>(),
        ),
        column("kind", vec!["knight"; 2 * n]),
        column("phase", vec!["opening"; 2 * n]),
        column(
            "k_low",
            (0..2 * n)
                .map(|i| if of_white(i) { 1u8 } else { 0 })
                .collect::<Vec<_>>(),
        ),
        column(
            "k_high",
            (0..2 * n)
                .map(|i| if of_white(i) { 4u8 } else { 1 })
                .collect::<Vec<_>>(),
        ),
        column(
            "ended",
            game.iter()
                .map(|g| if g % 2 == 0 { "freed" } else { "lost" })
                .collect::<Vec<_>>(),
        ),
        column("turns", vec![2u16; 2 * n]),
        column("developed", vec![true; 2 * n]),
        column("start_ply", vec![1u16; 2 * n]),
        column(
            "restrained",
            game.iter().map(|g| *g <= 6).collect::<Vec<_>>(),
        ),
        column(
            "fate",
            game.iter()
                .map(|g| if g % 2 == 0 { "survived" } else { "lost" })
                .collect::<Vec<_>>(),
        ),
        column(
            "fate_ply",
            game.iter()
                .map(|g| (g % 2 == 1).then_some(if *g <= 3 { 23u16 } else { 24 }))
                .collect::<Vec<_>>(),
        ),
    ])
}

fn cube(number: &[u32]) -> RecordBatch {
    let rows: Vec<Exposure> = number
        .iter()
        .flat_map(|&game| {
            let fold = game as u8;
            let held = Exposure {
                band: "1400-1599",
                fold,
                safe: 2,
                turns: 20,
                lost: i64::from(fold),
                ..Exposure::default()
            };
            let free = Exposure {
                safe: 3,
                turns: 80,
                lost: 1,
                ..held.clone()
            };
            let other = Exposure {
                band: "1600-1799",
                turns: 10,
                lost: 5,
                ..held.clone()
            };
            [held, free, other]
        })
        .collect();
    exposure(&rows)
}

fn ask(dir: &Path, rest: &str) -> BandsAnswer {
    let report = BandReport::parse("q", "q.toml", &format!("{HEAD}{rest}")).unwrap();
    hobble_bands::answer(&Dataset::open(dir).unwrap(), &report).unwrap()
}

fn cell<'a>(answer: &'a BandsAnswer, at: [&str; 4]) -> &'a BandCell {
    let is = |cell: &&BandCell| {
        [
            cell.measure.name(),
            cell.split.name(),
            &cell.level,
            &cell.kind,
        ] == at
    };
    answer
        .cells
        .iter()
        .find(is)
        .unwrap_or_else(|| panic!("{at:?}"))
}

const FEW: &str = "minimum_turns = 5\nminimum_games = 5\n";

#[test]
fn figures_by_hand() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path());
    let answer = ask(dir.path(), FEW);
    for (at, estimate, n) in [
        // Ten spells of twenty players; of White's ten.
        (["spells_per_game", "all", "all", "all"], 0.5, 20),
        (["spells_per_game", "band", "1400-1599", "all"], 1.0, 10),
        (["spells_per_game", "color", "black", "knight"], 0.0, 10),
        // Ply 1 of games 1 to 9 is White's, of game 10 Black's: 45 and 10 squares in 20 moves.
        (
            ["squares_taken_per_move", "color", "white", "all"],
            45.0 / 20.0,
            20,
        ),
        (
            ["squares_taken_per_move", "color", "black", "all"],
            10.0 / 20.0,
            20,
        ),
        // After the queen's capture at ply 2 the value is 53, too little for an opening; the
        // start with two queens is an endgame at once.
        (
            ["squares_taken_per_move", "phase", "opening", "all"],
            45.0 / 18.0,
            18,
        ),
        (
            ["squares_taken_per_move", "phase", "middlegame", "all"],
            0.0,
            18,
        ),
        // Kinds are those of the mover; pawns are among all only.
        (
            ["squares_taken_per_move", "kind", "queen", "queen"],
            0.0,
            10,
        ),
        (["held_share", "band", "1400-1599", "all"], 0.2, 1000),
        (["loss_risk", "band", "1400-1599", "all"], 55.0 / 200.0, 200),
        (["loss_risk", "band", "1600-1799", "knight"], 0.5, 100),
        (["held_turns_per_turn", "color", "white", "all"], 1.0, 20),
        (["release_rate", "color", "white", "all"], 5.0 / 20.0, 20),
        (["spells_lost", "eco", "B", "all"], 5.0 / 9.0, 9),
        (["restraints_per_game", "all", "all", "all"], 0.3, 20),
        (["restraints_lost", "color", "white", "all"], 2.0 / 6.0, 6),
    ] {
        let cell = cell(&answer, at);
        assert!(
            (cell.estimate.unwrap() - estimate).abs() < 1e-12,
            "{cell:?}"
        );
        assert_eq!(cell.n, n, "{at:?}");
        assert!(!cell.suppressed);
    }
    // One stratum: the standardised risk is the raw one.
    let standardised = cell(
        &answer,
        ["loss_risk_standardised", "band", "1400-1599", "all"],
    );
    assert!((standardised.estimate.unwrap() - 0.275).abs() < 1e-12);
    assert_eq!(standardised.covered, Some(1.0));
}

#[test]
fn too_few_shows_no_figure() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path());
    let answer = ask(dir.path(), "minimum_turns = 150\nminimum_games = 15\n");
    let shown = cell(&answer, ["loss_risk", "band", "1400-1599", "all"]);
    assert!(shown.low.unwrap() < 0.275 && shown.high.unwrap() > 0.275);
    for at in [
        ["loss_risk", "band", "1600-1799", "all"],
        ["spells_per_game", "band", "1400-1599", "all"],
        ["spells_lost", "eco", "B", "all"],
    ] {
        let cell = cell(&answer, at);
        assert!(cell.suppressed, "{at:?}");
        let figures = [
            cell.estimate,
            cell.low,
            cell.high,
            cell.against_all,
            cell.p,
            cell.p_holm,
        ];
        assert_eq!(figures, [None; 6], "{at:?}");
    }
    let suppressed = answer.cells.iter().filter(|cell| cell.suppressed).count();
    assert_eq!(answer.multiplicity.suppressed, suppressed);
    assert!(hobble_report::text(&hobble_bands::report(&answer)).contains("too few"));
}

#[test]
fn the_long_table_is_the_same_in_parquet() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path());
    let answer = ask(dir.path(), FEW);
    let path = dir.path().join("cells.parquet");
    hobble_bands::write_parquet(&answer, &path).unwrap();
    let cells = read(&path);
    assert_eq!(cells.num_rows(), answer.cells.len());
    let csv = hobble_report::csv(&hobble_bands::report(&answer));
    let head: Vec<&str> = csv.lines().next().unwrap().split(',').collect();
    let schema = cells.schema();
    let names: Vec<&str> = schema
        .fields()
        .iter()
        .map(|field| field.name().as_str())
        .collect();
    assert_eq!(names, head);
    assert_eq!(csv.lines().count(), answer.cells.len() + 1);
}

#[test]
fn methods_text_and_citation_say_what_the_manifest_says() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path());
    let answer = ask(dir.path(), "split = [\"band\"]\n");
    let text = answer.methods_text.join(" ");
    assert!(
        text.contains("Of 10 games read, 9 were kept and 1 skipped (1 illegal move)"),
        "{text}"
    );
    assert!(
        answer.citation.contains("a.pgn, SHA-256 00, 9 games"),
        "{}",
        answer.citation
    );
    assert!(
        answer
            .cells
            .iter()
            .all(|cell| ["all", "band"].contains(&cell.split.name()))
    );
    let markdown = hobble_report::markdown(&hobble_bands::report(&answer));
    assert!(markdown.contains("### Citation") && markdown.contains("## By rating band"));
    serde_json::from_str::<serde_json::Value>(
        &hobble_report::json(&hobble_bands::report(&answer)).unwrap(),
    )
    .unwrap();
}

#[test]
fn a_missing_ply_is_an_error() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path());
    let part = dir.path().join("moves/source=a/part-00000.parquet");
    let moves = read(&part);
    write(dir.path(), "moves", "a", 0, &moves.slice(1, 39));
    let report = BandReport::parse("q", "q.toml", HEAD).unwrap();
    let error = hobble_bands::answer(&Dataset::open(dir.path()).unwrap(), &report).unwrap_err();
    assert_eq!(
        error.to_string(),
        "table \"moves\": ply 2 of game 1 stands where ply 1 is due"
    );
}

/// Games in three parts give the cells and trends of the same games in one, whatever order
/// the parts are added in, and after a state was written and read back.
#[test]
fn parts_add_up() {
    let (whole, parted) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    tables(whole.path());
    for (number, games) in [(0, 4..=7), (1, 1..=3), (2, 8..=10)] {
        part(parted.path(), number, games.collect());
    }
    manifest(parted.path(), &[("a", 3)]);
    let text = format!(
        "{HEAD}split = [\"band\", \"kind\", \"phase\", \"color\", \"eco\"]\nminimum_turns = 1\nminimum_games = 1\nminimum_folds = 2"
    );
    let report = BandReport::parse("q", "q.toml", &text).unwrap();
    let want = hobble_bands::answer(&Dataset::open(whole.path()).unwrap(), &report).unwrap();
    assert!(want.cells.iter().any(|cell| cell.low.is_some()));
    let dataset = Dataset::open(parted.path()).unwrap();
    let same = |got: BandsAnswer| {
        assert_eq!(got.cells, want.cells);
        assert_eq!(got.trends, want.trends);
    };
    same(hobble_bands::answer(&dataset, &report).unwrap());
    let ids = dataset.part_ids(&[Table::Games], &[]).unwrap();
    for order in [[0, 1, 2], [2, 0, 1], [1, 2, 0]] {
        let mut sum = Counted::of(&report, &dataset, &[]).unwrap();
        for at in order {
            let file = parted.path().join(format!("{at}.state"));
            let one = Counted::of(&report, &dataset, &ids[at..=at]).unwrap();
            one.write(&file).unwrap();
            sum.add(Counted::read(&file).unwrap()).unwrap();
        }
        same(sum.answer(&report, &dataset).unwrap());
    }
}

/// Tables of another version of the program are refused in one line that says what to do.
#[test]
fn a_table_without_a_column_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path());
    let sides = table(vec![column("game", vec![1_u32])]);
    write(dir.path(), "sides", "a", 0, &sides);
    manifest(dir.path(), &[("a", 1)]);
    let report = BandReport::parse("b", "b.toml", HEAD).unwrap();
    let dataset = Dataset::open(dir.path()).unwrap();
    let error = hobble_bands::answer(&dataset, &report).unwrap_err();
    let what = error.to_string();
    let expected =
        "there is no column \"fold\"; scan the archive again with this version of hobble";
    assert!(what.ends_with(expected), "{what}");
}
