//! A quiz of the season: positions, filters, formats.

mod common;

use std::collections::BTreeSet;
use std::path::Path;

use common::{hobble, repository, scan};
use serde_json::Value;

/// What the program prints for a quiz.
fn quiz(data: &Path, more: &[&str]) -> String {
    let output = hobble()
        .args(["quiz", "--data"])
        .arg(data)
        .args(more)
        .output()
        .expect("the program runs");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    String::from_utf8(output.stdout).expect("UTF-8")
}

fn positions(data: &Path, more: &[&str]) -> Vec<Value> {
    let text = quiz(data, &[&["--format", "json"], more].concat());
    let quiz: Value = serde_json::from_str(&text).expect("JSON");
    quiz["positions"].as_array().expect("a list").clone()
}

fn fens(positions: &[Value]) -> BTreeSet<String> {
    let fen = |position: &Value| position["fen"].as_str().expect("a FEN").to_owned();
    positions.iter().map(fen).collect()
}

fn season() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    scan(
        &[&repository("small-sample/season.pgn")],
        folder.path(),
        &["--sample", "4"],
    );
    folder
}

#[test]
fn filters_hold_and_positions_do_not_repeat() {
    let data = season();
    let data = data.path();
    let all = positions(data, &["--count", "48"]);
    assert_eq!((all.len(), fens(&all).len()), (48, 48));
    assert_eq!(all, positions(data, &["--count", "48"]));
    for level in ["easy", "medium", "hard"] {
        let of_level = |position: &&Value| position["difficulty"]["level"] == level;
        assert!(all.iter().filter(of_level).count() >= 12, "{level}");
    }
    let points: Vec<u64> = all
        .iter()
        .map(|position| position["difficulty"]["points"].as_u64().unwrap())
        .collect();
    assert!(points.is_sorted(), "{points:?}");
    // The first and the next ones are those of one call.
    let first = fens(&positions(data, &["--count", "24"]));
    let next = fens(&positions(data, &["--count", "24", "--skip", "24"]));
    assert!(first.is_disjoint(&next));
    assert_eq!(&first | &next, fens(&all));

    let asked = [
        "--kind",
        "knight,rook",
        "--phase",
        "middlegame",
        "--rating",
        "1400-1799",
        "--to-move",
        "black",
        "--difficulty",
        "medium,hard",
    ];
    let some = positions(data, &asked);
    assert!(some.len() > 3, "{}", some.len());
    for position in &some {
        let rating = position["game"]["black_rating"].as_u64().unwrap();
        assert!((1400..=1799).contains(&rating), "{rating}");
        assert!(["knight", "rook"].contains(&position["kind"].as_str().unwrap()));
        assert_eq!(position["phase"], "middlegame");
        assert_eq!(position["to_move"], "black");
        assert_ne!(position["difficulty"]["level"], "easy");
    }
    // The rim is the same from both sides; halves are seen from the owner, who is not on move.
    for position in positions(data, &["--stands", "own half"]) {
        let row = position["square"].as_str().unwrap().as_bytes()[1];
        let owner_is_white = position["to_move"] == "black";
        assert_eq!(row <= b'4', owner_is_white, "{position}");
    }
}

#[test]
fn formats_name_no_path() {
    let data = season();
    let data = data.path();
    let here = repository(".").canonicalize().unwrap();
    let file = data.join("quiz");
    for format in ["page", "sheet", "pgn", "json", "text"] {
        let out = file.with_extension(format);
        let more = ["--format", format, "--out", out.to_str().unwrap()];
        quiz(data, &more);
        let text = std::fs::read_to_string(&out).unwrap();
        assert!(!text.contains(here.to_str().unwrap()), "{format}");
        assert!(!text.contains("small-sample"), "{format}");
        assert!(text.contains("season.pgn"), "{format}");
    }
    // The format follows the file's name.
    let out = data.join("named.pgn");
    quiz(data, &["--out", out.to_str().unwrap()]);
    let text = std::fs::read_to_string(&out).unwrap();
    assert_eq!(
        text,
        std::fs::read_to_string(file.with_extension("pgn")).unwrap()
    );
    assert_eq!(text.matches("[SetUp \"1\"]\n[FEN \"").count(), 24);
    assert_eq!(text.matches("Which move").count(), 24);
}

#[test]
fn what_cannot_be_had_is_said() {
    let data = season();
    let refused = |data: &Path, more: &[&str]| {
        let mut command = hobble();
        let output = command
            .args(["quiz", "--data"])
            .arg(data)
            .args(more)
            .output();
        let output = output.expect("the program runs");
        assert!(!output.status.success());
        String::from_utf8_lossy(&output.stderr).into_owned()
    };
    let said = refused(data.path(), &["--kind", "pawn"]);
    assert!(said.contains("knight, bishop, rook, queen"), "{said}");
    let few = tempfile::tempdir().unwrap();
    scan(
        &[&repository("small-sample/season.pgn")],
        few.path(),
        &["--tables", "games,moves"],
    );
    let said = refused(few.path(), &[]);
    assert!(said.contains("decisions"), "{said}");
    // No player has this name: no position, and a sentence that says so.
    let none = positions(data.path(), &["--player", "Nobody of this name"]);
    assert!(none.is_empty());
}
