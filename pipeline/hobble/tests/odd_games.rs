//! Every broken and odd game of the small sample is told apart as its folder says
//! (`small-sample/odd-games/expected.json`).

mod common;

use std::collections::BTreeMap;
use std::path::Path;

use arrow_array::RecordBatch;
use arrow_array::cast::AsArray as _;
use arrow_array::types::{UInt16Type, UInt32Type, UInt64Type};
use serde_json::{Value, json};

fn text(batch: &RecordBatch, column: &str, row: usize) -> String {
    batch[column].as_string::<i32>().value(row).to_owned()
}

/// What the tables say of each file's games, by number.
fn found(data: &Path) -> BTreeMap<String, BTreeMap<u32, Value>> {
    let mut files: BTreeMap<String, BTreeMap<u32, Value>> = BTreeMap::new();
    let mut add = |batch: &RecordBatch, row: usize, game: Value| {
        let file = text(batch, "file", row);
        let name = file.rsplit('/').next().unwrap_or_default().to_owned();
        let number = batch["game"].as_primitive::<UInt32Type>().value(row);
        files.entry(name).or_default().insert(number, game);
    };
    let games = common::table(data, "games");
    for row in 0..games.num_rows() {
        let count = |column: &str| games[column].as_primitive::<UInt16Type>().value(row);
        let game = json!({
            "verdict": "kept",
            "plies": count("plies"),
            "captures": count("captures"),
            "en_passant": count("en_passant"),
            "promotions": count("promotions"),
            "castlings": count("castlings"),
            "clocks": count("clocks"),
            "evals": count("evals"),
            "result": text(&games, "result", row),
        });
        add(&games, row, game);
    }
    let skipped = common::table(data, "skipped");
    for row in 0..skipped.num_rows() {
        let game = json!({
            "verdict": "skipped",
            "reason": text(&skipped, "reason", row),
            "line": skipped["at_line"].as_primitive::<UInt64Type>().value(row),
        });
        add(&skipped, row, game);
    }
    files
}

#[test]
fn every_odd_game_is_told_apart() {
    let data = tempfile::tempdir().unwrap();
    let folder = common::repository("small-sample/odd-games");
    common::scan(&[&folder], data.path(), &[]);
    let found = found(data.path());
    let expected = std::fs::read_to_string(folder.join("expected.json")).unwrap();
    let expected: Value = serde_json::from_str(&expected).unwrap();
    let files = expected.as_array().expect("a list of files");
    assert!(files.len() > 50);
    let mut wrong = Vec::new();
    let none = BTreeMap::new();
    for file in files {
        let name = file["file"].as_str().unwrap();
        let games: Vec<_> = found.get(name).unwrap_or(&none).values().collect();
        let wanted = file["games"].as_array().unwrap();
        if games.len() != wanted.len() {
            wrong.push(format!(
                "{name}: {} games, not {}",
                games.len(),
                wanted.len()
            ));
            continue;
        }
        for (number, (game, wanted)) in games.iter().zip(wanted).enumerate() {
            for (key, value) in wanted.as_object().unwrap() {
                if let Some(got) = game.get(key).or((key == "reason").then_some(&Value::Null))
                    && got != value
                {
                    wrong.push(format!(
                        "{name}, game {}: {key} {got}, not {value}",
                        number + 1
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn messages_name_file_game_line_and_what_was_done() {
    let data = tempfile::tempdir().unwrap();
    let file = common::repository("small-sample/odd-games/illegal-move.pgn");
    let output = common::scan(&[&file], data.path(), &[]);
    let said = String::from_utf8_lossy(&output.stderr);
    let line = said.lines().next().unwrap();
    assert!(line.contains("illegal-move.pgn: game "), "{line}");
    assert!(
        line.contains(", line ") && line.contains("illegal move `"),
        "{line}"
    );
    assert!(line.ends_with("; game skipped"), "{line}");
}
