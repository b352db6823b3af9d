//! `hobble scan --pseudonyms`: keys, scans that go on, and repeats found by the names themselves.

mod common;

use std::fs;
use std::path::Path;

use arrow_array::Array as _;
use arrow_array::cast::AsArray as _;
use common::{
    assert_refused, assert_same, check, file, gather, hobble, interrupt, scan, season, table,
    try_scan,
};

const SMALL: [&str; 6] = ["--block-kib", "8", "--part-blocks", "3", "--threads", "2"];

fn key(folder: &Path, name: &str, byte: u8) -> String {
    let path = file(folder, name, [byte; 32]);
    path.to_string_lossy().into_owned()
}

fn refused(archives: &[&Path], data: &Path, more: &[&str], words: &str) {
    assert_refused(&try_scan(archives, data, more), words);
}

#[test]
fn keys_that_are_missing_or_short_are_refused_in_one_line() {
    let work = tempfile::tempdir().unwrap();
    let season = season();
    let data = work.path().join("data");
    for (bytes, words) in [(0, "0 bytes are too few"), (15, "15 bytes are too few")] {
        let path = file(work.path(), "short", vec![7; bytes]);
        let short = path.to_string_lossy();
        refused(&[&season], &data, &["--pseudonyms", &short], words);
    }
    let missing = work.path().join("none");
    let missing = missing.to_string_lossy();
    refused(
        &[&season],
        &data,
        &["--pseudonyms", &missing],
        "cannot be read",
    );
    assert!(!data.exists());
}

#[test]
fn another_key_or_none_is_refused_and_the_key_appears_nowhere() {
    let work = tempfile::tempdir().unwrap();
    let season = season();
    let data = work.path().join("data");
    let (one, other) = (
        key(work.path(), "one", b'k'),
        key(work.path(), "other", b'l'),
    );
    scan(&[&season], &data, &["--pseudonyms", &one]);
    let words = "its tables were made with players' names as pseudonyms of key";
    refused(&[&season], &data, &["--pseudonyms", &other], words);
    refused(&[&season], &data, &[], words);
    scan(&[&season], &data, &["--pseudonyms", &one]);
    let manifest = fs::read_to_string(data.join("manifest.json")).unwrap();
    assert!(manifest.contains("HMAC-SHA-256, 16 digits"), "{manifest}");
    assert!(!manifest.contains("kkkkkkkk") && !manifest.contains("6b6b6b6b"));
    check(&data);
    // A filter by player takes the pseudonym.
    let names = table(&data, "games");
    let white = names.column_by_name("white").unwrap().as_string::<i32>();
    let name = white.iter().flatten().next().unwrap();
    let mut ask = hobble();
    ask.args(["ask", "own-habits", "--player", name, "--data"]);
    assert!(ask.arg(&data).output().unwrap().status.success());
}

/// A long game between two players, with its moves in an order of their own.
fn game(white: &str, black: &str, opening: &str) -> String {
    let tags = format!("[Event \"Club\"]\n[White \"{white}\"]\n[Black \"{black}\"]\n");
    let moves = "Nf3 Nf6 g3 g6 Bg2 Bg7 O-O O-O d3 d6 Nc3 Nc6 Bd2 Bd7 Qc1 Qc8";
    format!("{tags}[Result \"1-0\"]\n\n{opening} {moves} 1-0\n\n")
}

#[test]
fn repeats_are_found_by_names_and_not_by_pseudonyms() {
    let work = tempfile::tempdir().unwrap();
    let at = |name: &str| work.path().join(name);
    let first = game("Windlass, Orla", "Burdock, Ulf", "a3 a6");
    let first = first + &game("Cobble, Nan", "Burdock, Ulf", "h3 h6");
    // The same game by initials, and one of another player of that pseudonym's length.
    let second = game("Windlass, O.", "Burdock, U.", "a3 a6");
    let second = second + &game("Windlass, Otto", "Burdock, Ulf", "a3 a6");
    let (a, b) = (
        file(work.path(), "a.pgn", first.as_bytes()),
        file(work.path(), "b.pgn", second.as_bytes()),
    );
    let key = key(work.path(), "key", 9);
    let more = ["--pseudonyms", key.as_str()];
    scan(&[&a, &b], &at("at-once"), &more);
    assert_eq!(table(&at("at-once"), "games").num_rows(), 3);
    assert_eq!(table(&at("at-once"), "skipped").num_rows(), 1);
    // Added later: the names of the first archive stand in no table.
    scan(&[&a], &at("later"), &more);
    refused(
        &[&b],
        &at("later"),
        &more,
        "a.pgn: repeats of its games cannot be found",
    );
    scan(&[&a, &b], &at("later"), &more);
    assert_same(&at("at-once"), &at("later"), "added later");
    // Where repeats are kept they are marked alike.
    let keep = [&more[..], &["--repeats", "keep"]].concat();
    scan(&[&a, &b], &at("kept"), &keep);
    let sides = table(&at("kept"), "sides");
    let marks = sides.column_by_name("is_repeat").unwrap().as_boolean();
    let marked: Vec<bool> = marks.iter().map(|mark| mark == Some(true)).collect();
    assert_eq!(
        marked,
        [false, false, false, false, true, true, false, false]
    );
    assert_eq!(marks.null_count(), 0);
}

#[test]
fn interrupted_scan_and_stripes_give_the_same_tables() {
    let work = tempfile::tempdir().unwrap();
    let at = |name: &str| work.path().join(name);
    let season = season();
    let text = fs::read(&season).unwrap();
    // Each game twice, so that repeats matter.
    let twice = file(work.path(), "twice.pgn", [&text[..], &text[..]].concat());
    let key = key(work.path(), "key", 9);
    let more = [&SMALL[..], &["--pseudonyms", key.as_str()]].concat();
    scan(&[&twice], &at("whole"), &more);
    interrupt(&twice, &at("broken"), &more, 23);
    scan(&[&twice], &at("broken"), &more);
    assert_same(&at("whole"), &at("broken"), "interrupted");
    for stripe in ["0/2", "1/2"] {
        let more = [&more[..], &["--stripe", stripe]].concat();
        scan(&[&twice], &at(&stripe[..1]), &more);
    }
    let done = gather(&[at("0"), at("1")], &at("gathered"));
    assert!(done.status.success());
    assert_same(&at("whole"), &at("gathered"), "stripes");
}
