//! The figures of a walk through a game equal the tables that a scan writes: the season, the
//! odd games, and fifty games of the open archive where it has been fetched.

mod common;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use arrow_array::cast::AsArray as _;
use arrow_array::types::{Int8Type, Int16Type, Int32Type, UInt64Type};
use arrow_array::{Array as _, RecordBatch};
use arrow_schema::DataType;
use common::{hobble, repository, scan, sorted, table};
use serde_json::Value;

/// Types of columns.
#[derive(Clone, Copy)]
enum Kind {
    Number,
    Word,
    Flag,
}

/// A value of a table as JSON.
fn value(batch: &RecordBatch, name: &str, row: usize, kind: Kind) -> Value {
    let column = batch
        .column_by_name(name)
        .unwrap_or_else(|| panic!("no column {name}"));
    if column.is_null(row) {
        return Value::Null;
    }
    match kind {
        Kind::Number => match column.data_type() {
            DataType::Int8 => column.as_primitive::<Int8Type>().value(row).into(),
            DataType::Int16 => column.as_primitive::<Int16Type>().value(row).into(),
            DataType::Int32 => column.as_primitive::<Int32Type>().value(row).into(),
            _ => column.as_primitive::<UInt64Type>().value(row).into(),
        },
        Kind::Word => column.as_string::<i32>().value(row).into(),
        Kind::Flag => column.as_boolean().value(row).into(),
    }
}

/// Rows of a table by the number of their game.
fn rows_by_game(batch: &RecordBatch) -> BTreeMap<u64, Vec<usize>> {
    let mut rows: BTreeMap<u64, Vec<usize>> = BTreeMap::new();
    for row in 0..batch.num_rows() {
        let game = value(batch, "game", row, Kind::Number).as_u64().unwrap();
        rows.entry(game).or_default().push(row);
    }
    rows
}

/// Pairs of values compared.
#[derive(Default)]
struct Compared {
    games: usize,
    pairs: usize,
}

impl Compared {
    fn equal(&mut self, walked: &Value, table: &Value, place: &str) {
        self.pairs += 1;
        assert_eq!(walked, table, "{place}");
    }
}

/// The walk through a game as the program writes it.
fn walk(archive: &Path, number: u64, k: u8) -> Value {
    let output = hobble()
        .arg("game")
        .arg(archive)
        .args(["--format", "json", "--game", &number.to_string()])
        .args(["--k", &k.to_string()])
        .output()
        .expect("the program runs");
    assert!(
        output.status.success(),
        "{} game {number}: {}",
        archive.display(),
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).expect("JSON")
}

/// Compares every `step`-th game of an archive with its tables.
fn compare(archive: &Path, step: usize, compared: &mut Compared) {
    let folder = tempfile::tempdir().unwrap();
    scan(&[archive], folder.path(), &["--name-skipped", "0"]);
    let [games, moves, spells] =
        ["games", "moves", "spells"].map(|name| table(folder.path(), name));
    let (moves_of, spells_of) = (rows_by_game(&moves), rows_by_game(&spells));
    for (nth, (&number, rows)) in rows_by_game(&games).iter().enumerate().step_by(step) {
        let k = (nth / step % 5) as u8;
        let walk = walk(archive, number, k);
        let place = format!("{} game {number} k {k}", archive.display());
        compared.games += 1;
        let id = value(&games, "game_id", rows[0], Kind::Number)
            .as_u64()
            .unwrap();
        compared.equal(&walk["game"]["id"], &format!("{id:016x}").into(), &place);
        start_scope(&walk, &games, rows[0], compared, &place);
        let none = Vec::new();
        let rows = moves_of.get(&number).unwrap_or(&none);
        assert_eq!(
            walk["plies"].as_array().unwrap().len(),
            rows.len(),
            "{place}"
        );
        for (ply, &row) in rows.iter().enumerate() {
            compare_ply(
                &walk,
                &moves,
                ply,
                row,
                compared,
                &format!("{place} ply {}", ply + 1),
            );
        }
        let rows = spells_of.get(&number).unwrap_or(&none);
        compare_spells(&walk, &spells, rows, k, compared, &place);
    }
}

/// Scope of a side by the six columns of a table.
fn scope(batch: &RecordBatch, prefix: &str, row: usize) -> Value {
    let kinds = ["pawn", "knight", "bishop", "rook", "queen", "king"];
    kinds
        .map(|kind| {
            value(batch, &format!("{prefix}_{kind}"), row, Kind::Number)
                .as_u64()
                .unwrap()
        })
        .iter()
        .sum::<u64>()
        .into()
}

fn start_scope(
    walk: &Value,
    games: &RecordBatch,
    row: usize,
    compared: &mut Compared,
    place: &str,
) {
    for side in ["white", "black"] {
        let walked = &walk["positions"][0]["scope"][side];
        compared.equal(walked, &scope(games, &format!("start_{side}"), row), place);
    }
}

/// A ply, the scope after it, the move among those tried, and the captured unit.
fn compare_ply(
    walk: &Value,
    moves: &RecordBatch,
    ply: usize,
    row: usize,
    compared: &mut Compared,
    place: &str,
) {
    let walked = &walk["plies"][ply];
    compared.equal(
        &walked["legal"],
        &value(moves, "legal", row, Kind::Number),
        place,
    );
    let tried: Vec<&Value> = walk["positions"][ply]["moves"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|tried| tried["move"] == walked["move"])
        .collect();
    assert_eq!(tried.len(), 1, "{place}: {} is tried once", walked["move"]);
    for name in ["taken", "given", "own_taken", "own_given"] {
        let table = value(moves, name, row, Kind::Number);
        compared.equal(&walked[name], &table, place);
        compared.equal(&tried[0][name], &table, &format!("{place} tried"));
    }
    for side in ["white", "black"] {
        let walked = &walk["positions"][ply + 1]["scope"][side];
        compared.equal(walked, &scope(moves, side, row), place);
    }
    let fate = value(moves, "captured_fate", row, Kind::Word);
    if !fate.is_null() {
        let gone: Vec<&Value> = walk["units"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|unit| unit["gone"] == ply + 1 && !unit["fate"].is_null())
            .collect();
        assert_eq!(gone.len(), 1, "{place}: one unit is captured");
        compared.equal(&gone[0]["fate"], &fate, place);
        let net = value(moves, "captured_net", row, Kind::Number);
        compared.equal(&gone[0]["net"], &net, place);
    }
}

/// The plies that began and ended a spell, which follow from its columns and the plies of its game.
fn plies_of(of: impl Fn(&'static str, Kind) -> Value, plies: usize) -> [Value; 2] {
    let number = |name| of(name, Kind::Number).as_u64();
    let start = number("start_ply").unwrap();
    let next_turn = start + 2 * number("turns").unwrap();
    let began = match of("cause_by", Kind::Word).as_str() {
        Some("own") => Some(start - 1),
        Some(_) => Some(start),
        None => None,
    };
    let ended = of("ended", Kind::Word);
    let ended = match (ended.as_str(), of("moved_away", Kind::Flag)) {
        (Some("freed"), Value::Null) => Some(next_turn),
        (Some("freed"), _) => Some(next_turn - 1),
        (Some("game over"), _) => Some(plies as u64),
        _ => number("fate_ply"),
    };
    [began.into(), ended.into()]
}

/// Spells, and the stretches of the lines that stand for them.
fn compare_spells(
    walk: &Value,
    spells: &RecordBatch,
    rows: &[usize],
    k: u8,
    compared: &mut Compared,
    place: &str,
) {
    let key = |piece: &Value, k_low: &Value, start: &Value| format!("{piece} {k_low} {start}");
    let walked: BTreeMap<String, &Value> = walk["spells"]
        .as_array()
        .unwrap()
        .iter()
        .map(|spell| (key(&spell["unit"], &spell["k_low"], &spell["start"]), spell))
        .collect();
    assert_eq!(walked.len(), rows.len(), "{place}: spells");
    let mut restrained = 0;
    for &row in rows {
        let of = |name, kind| value(spells, name, row, kind);
        let (piece, start) = (of("piece", Kind::Number), of("start_ply", Kind::Number));
        let spell = walked[&key(&piece, &of("k_low", Kind::Number), &start)];
        for (name, column, kind) in [
            ("k_high", "k_high", Kind::Number),
            ("turns", "turns", Kind::Number),
            ("cause", "cause", Kind::Word),
            ("squares_taken", "squares_taken", Kind::Number),
            ("safe", "safe", Kind::Number),
            ("restrained", "restrained", Kind::Flag),
        ] {
            compared.equal(&spell[name], &of(column, kind), &format!("{place} {name}"));
        }
        let [began, ended] = plies_of(of, walk["plies"].as_array().unwrap().len());
        compared.equal(&spell["cause_ply"], &began, &format!("{place} cause_ply"));
        compared.equal(&spell["end_ply"], &ended, &format!("{place} end_ply"));
        let holds = of("k_low", Kind::Number).as_u64() <= Some(k.into())
            && Some(u64::from(k)) <= of("k_high", Kind::Number).as_u64();
        if !holds || of("restrained", Kind::Flag) == false {
            continue;
        }
        restrained += 1;
        let turns = of("turns", Kind::Number);
        let state = if turns.as_u64() >= Some(8) {
            "shut out"
        } else {
            "restrained"
        };
        let line = walk["lines"]
            .as_array()
            .unwrap()
            .iter()
            .find(|line| line["unit"] == piece)
            .expect("each restrained piece has a line");
        let stretch = line["stretches"]
            .as_array()
            .unwrap()
            .iter()
            .find(|stretch| stretch["first"] == start)
            .expect("each restraint is a stretch");
        compared.equal(&stretch["state"], &state.into(), place);
        compared.equal(&stretch["turns"], &turns, place);
    }
    compared.equal(
        &walk["restraint"]["restraints"],
        &restrained.into(),
        &format!("{place}: restraints"),
    );
}

#[test]
fn season_agrees_with_the_tables() {
    let mut compared = Compared::default();
    compare(&repository("small-sample/season.pgn"), 4, &mut compared);
    println!(
        "walkthrough of the season | tables | {} | 0 differences in {} games",
        compared.pairs, compared.games
    );
    assert!(compared.games >= 90 && compared.pairs > 50_000);
}

#[test]
fn odd_games_agree_with_the_tables() {
    let mut compared = Compared::default();
    for file in sorted(&repository("small-sample/odd-games")) {
        let pgn = file.extension().is_some_and(|ending| ending == "pgn");
        if pgn && fs::metadata(&file).unwrap().len() > 0 {
            compare(&file, 1, &mut compared);
        }
    }
    println!(
        "walkthrough of the odd games | tables | {} | 0 differences in {} games",
        compared.pairs, compared.games
    );
    assert!(compared.games > 60);
}

#[test]
fn real_games_agree_with_the_tables() {
    let archive = repository(".cache/open-archive/book_1.02.pgn");
    let Ok(text) = fs::read(&archive) else {
        println!("skipped | walkthrough of real games | the open archive is not there");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let head = folder.path().join("real.pgn");
    let starts: Vec<usize> = starts(&text).take(51).collect();
    fs::write(&head, &text[..starts[50]]).unwrap();
    let mut compared = Compared::default();
    compare(&head, 1, &mut compared);
    println!(
        "walkthrough of real games | tables | {} | 0 differences in {} games",
        compared.pairs, compared.games
    );
    assert_eq!(compared.games, 50);
}

/// Where games start.
fn starts(text: &[u8]) -> impl Iterator<Item = usize> + '_ {
    let tag = b"[Event ";
    text.windows(tag.len())
        .enumerate()
        .filter(move |(at, window)| *window == tag && (*at == 0 || text[at - 1] == b'\n'))
        .map(|(at, _)| at)
}
