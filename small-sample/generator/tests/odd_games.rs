//! The folder of odd games and its expectations belong together.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

/// Reasons a game can be skipped for.
const REASONS: [&str; 11] = [
    "illegal move",
    "ambiguous move",
    "null move",
    "unreadable token",
    "unclosed comment",
    "unclosed tag",
    "variant",
    "impossible start",
    "unreadable start",
    "too long",
    "no game",
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../odd-games")
}

fn expected() -> Vec<Value> {
    let text = fs::read_to_string(folder().join("expected.json")).expect("it is committed");
    let Value::Array(files) = serde_json::from_str(&text).expect("it is JSON") else {
        panic!("expected.json is a list");
    };
    files
}

fn text<'a>(value: &'a Value, name: &str) -> &'a str {
    value[name]
        .as_str()
        .unwrap_or_else(|| panic!("{name} in {value}"))
}

fn number(value: &Value, name: &str) -> u64 {
    value[name]
        .as_u64()
        .unwrap_or_else(|| panic!("{name} in {value}"))
}

#[test]
fn every_file_is_expected_and_every_expectation_has_its_file() {
    let there: BTreeSet<String> = fs::read_dir(folder())
        .expect("the folder is there")
        .map(|entry| entry.expect("it can be listed").file_name())
        .map(|name| name.into_string().expect("names are plain"))
        .filter(|name| name.contains(".pgn"))
        .collect();
    let files = expected();
    let said: BTreeSet<String> = files
        .iter()
        .map(|file| text(file, "file").to_owned())
        .collect();
    assert_eq!(there, said);
    assert_eq!(said.len(), files.len(), "a file is listed twice");
}

#[test]
fn every_reason_occurs_and_no_other() {
    let mut seen = BTreeSet::new();
    for file in &expected() {
        for game in file["games"].as_array().expect("games are a list") {
            if text(game, "verdict") == "skipped" {
                seen.insert(text(game, "reason").to_owned());
            }
        }
    }
    assert_eq!(seen, REASONS.map(str::to_owned).into());
}

#[test]
fn every_game_is_described_in_full_and_lines_are_in_the_file() {
    for file in &expected() {
        let name = text(file, "file");
        assert!(!text(file, "why").is_empty(), "{name}");
        let bytes = fs::read(folder().join(name)).expect(name);
        let packed = name.ends_with(".gz");
        let lines = 1 + bytes.iter().filter(|&&byte| byte == b'\n').count() as u64;
        let mut last = 0;
        for game in file["games"].as_array().expect("games are a list") {
            let first = number(game, "first_line");
            assert!(first > last, "{name}: games out of order");
            last = first;
            match text(game, "verdict") {
                "kept" => {
                    let plies = number(game, "plies");
                    for count in ["captures", "promotions", "castlings", "clocks", "evals"] {
                        assert!(number(game, count) <= plies, "{name}: {count}");
                    }
                    assert!(number(game, "en_passant") <= number(game, "captures"));
                    assert!(["1-0", "0-1", "1/2-1/2", "*"].contains(&text(game, "result")));
                    let _: shakmaty::fen::Fen = text(game, "last_fen").parse().expect(name);
                }
                "skipped" => {
                    let line = number(game, "line");
                    assert!(line >= first, "{name}");
                    assert!(packed || line <= lines, "{name}");
                }
                other => panic!("{name}: verdict {other}"),
            }
        }
    }
}
