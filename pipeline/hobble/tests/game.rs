//! `hobble game` and `hobble lesson`: each theme of restraint with a small invented game, written as
//! written down by hand beforehand (`small-sample/themes`), games that are odd in other ways, and
//! what stands beside them from an archive.

mod common;

use std::fs;
use std::io::Write as _;
use std::process::{Output, Stdio};

use common::{hobble, repository};
use serde_json::{Value, json};

/// `hobble game` with these arguments, the text on standard input.
fn game(arguments: &[&str], text: &str) -> Output {
    let mut child = hobble()
        .arg("game")
        .arg("-")
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut input = child.stdin.take().unwrap();
    input.write_all(text.as_bytes()).unwrap();
    drop(input);
    child.wait_with_output().unwrap()
}

fn written(arguments: &[&str], text: &str) -> String {
    let output = game(arguments, text);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{said}");
    String::from_utf8(output.stdout).unwrap()
}

fn walk(text: &str) -> Value {
    serde_json::from_str(&written(&["--format", "json"], text)).unwrap()
}

/// The line of the piece that stood first on a square, as `expected.json` writes it.
fn line(walk: &Value, square: &str) -> Value {
    let line = walk["lines"]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["first"] == square)
        .unwrap_or_else(|| panic!("no line from {square}"));
    let stretches: Vec<Value> = line["stretches"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| json!([one["state"], one["turns"], one["began"], one["ended"]]))
        .collect();
    json!([square, line["fate"], stretches])
}

#[test]
fn each_theme_reads_as_written_by_hand() {
    let folder = repository("small-sample/themes");
    let expected = fs::read_to_string(folder.join("expected.json")).unwrap();
    let expected: Value = serde_json::from_str(&expected).unwrap();
    let expected = expected.as_object().unwrap();
    assert_eq!(expected.len(), 4);
    for (name, expected) in expected {
        let text = fs::read_to_string(folder.join(format!("{name}.pgn"))).unwrap();
        let walk = walk(&text);
        let restraint = &walk["restraint"];
        for key in ["themes", "restraints", "turns"] {
            assert_eq!(restraint[key], expected[key], "{name}: {key}");
        }
        let moments: Vec<Value> = walk["moves_that_mattered"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| json!({"move": one["move"], "rules": one["rules"], "text": one["text"]}))
            .collect();
        assert_eq!(
            Value::from(moments),
            expected["moves_that_mattered"],
            "{name}"
        );
        for expected in expected["lines"].as_array().unwrap() {
            let square = expected[0].as_str().unwrap();
            assert_eq!(&line(&walk, square), expected, "{name}");
        }
        // The page says the same sentences.
        let page = written(&[], &text);
        for moment in expected["moves_that_mattered"].as_array().unwrap() {
            let sentence = moment["text"].as_str().unwrap();
            assert!(page.contains(sentence), "{name}: {sentence}");
        }
    }
}

#[test]
fn names_that_are_markup_stay_text() {
    let text = "[White \"<script>alert(1)</script>\"]\n[Black \"</script><b>\"]\n\
                [Event \"&amp; {x} \\\"q\\\"\"]\n\n1. e4 e5 *\n";
    let page = written(&[], text);
    assert!(!page.contains("<script>alert") && !page.contains("<b>"));
    assert!(page.contains("&lt;script&gt;alert(1)"));
    let pgn = written(&["--format", "pgn"], text);
    assert!(pgn.contains("[Event \"&amp; {x} \\\"q\\\"\"]"), "{pgn}");
}

#[test]
fn game_without_moves_has_a_page() {
    let text = "[White \"Cobble, Nan\"]\n[Result \"1-0\"]\n\n1-0\n";
    for format in ["page", "exercises", "text", "json", "pgn"] {
        assert!(!written(&["--format", format], text).is_empty());
    }
    let walk = walk(text);
    assert_eq!(walk["plies"].as_array().unwrap().len(), 0);
    assert_eq!(walk["positions"].as_array().unwrap().len(), 1);
    assert_eq!(walk["moves_that_mattered"], json!([]));
}

#[test]
fn long_game_has_a_page() {
    let mut text = String::from("[White \"Cobble, Nan\"]\n\n");
    for _ in 0..100 {
        text.push_str("Nf3 Nf6 Ng1 Ng8\n");
    }
    text.push_str("*\n");
    let page = written(&[], &text);
    assert!(page.len() < 2_000_000, "{} bytes", page.len());
    assert_eq!(walk(&text)["plies"].as_array().unwrap().len(), 400);
}

#[test]
fn broken_game_is_named_with_line_and_reason() {
    let output = game(&[], "[White \"Cobble, Nan\"]\n\n1. e4 e5\n2. Ke3 *\n");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout.is_empty());
    assert!(
        said.contains("game 1, line 4: illegal move `Ke3`"),
        "{said}"
    );
    let output = game(&["--game", "3"], "[White \"Cobble, Nan\"]\n\n1. e4 e5 *\n");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("game 3 asked for"), "{said}");
    let output = game(
        &["--id", "00000000000000ff"],
        "[White \"Cobble, Nan\"]\n\n1. e4 *\n",
    );
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        said.contains("no game has the id 00000000000000ff"),
        "{said}"
    );
}

#[test]
fn game_is_found_by_its_id() {
    let season = repository("small-sample/season.pgn");
    let run = |arguments: &[&str]| {
        let output = hobble()
            .arg("game")
            .arg(&season)
            .args(arguments)
            .args(["--format", "json"])
            .output()
            .unwrap();
        serde_json::from_slice::<Value>(&output.stdout).unwrap()
    };
    let seventh = run(&["--game", "7"]);
    let id = seventh["game"]["id"].as_str().unwrap();
    assert_eq!(run(&["--id", id])["game"]["number"], 7);
}

#[test]
fn game_with_comments_reads_back_as_the_same_game() {
    let folder = repository("small-sample/odd-games");
    for name in ["chess960.pgn", "start-black-on-move.pgn", "promotions.pgn"] {
        let text = fs::read_to_string(folder.join(name)).unwrap();
        let (one, other) = (walk(&text), walk(&written(&["--format", "pgn"], &text)));
        assert_eq!(one["plies"], other["plies"], "{name}");
        assert_eq!(one["positions"], other["positions"], "{name}");
    }
}

#[test]
fn lesson_is_ordered_by_restraint_and_names_broken_games() {
    let folder = tempfile::tempdir().unwrap();
    let mut text = String::new();
    for name in [
        "broken-out",
        "restrained-by-a-pawn",
        "shut-out",
        "two-pieces-at-once",
    ] {
        let file = repository("small-sample/themes").join(format!("{name}.pgn"));
        text.push_str(&fs::read_to_string(file).unwrap());
        text.push('\n');
    }
    text.push_str("[White \"Cobble, Nan\"]\n\n1. e4 e9 *\n");
    let file = folder.path().join("evening.pgn");
    fs::write(&file, text).unwrap();
    let out = folder.path().join("lesson");
    let output = hobble()
        .arg("lesson")
        .arg(&file)
        .arg("--out")
        .arg(&out)
        .output()
        .unwrap();
    assert!(output.status.success());
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        said.contains("game 5, line") && said.contains("unreadable token `e9`"),
        "{said}"
    );
    let index = fs::read_to_string(out.join("index.html")).unwrap();
    let place = |number: u64| index.find(&format!("game-{number:03}.html")).unwrap();
    // Turns restrained: 8, 4, 3, 2.
    let places = [3, 4, 2, 1].map(place);
    assert!(places.is_sorted(), "{places:?}");
    assert!(index.contains("unreadable token"));
    for theme in ["pawn", "two", "shut-out", "broken-out"] {
        assert!(
            index.contains(&format!("<li class=\"{theme}\">")),
            "{theme}"
        );
    }
    for file in [
        "game-001.html",
        "game-004.html",
        "exercises.html",
        "games.pgn",
    ] {
        assert!(out.join(file).exists(), "{file}");
    }
    assert!(!out.join("game-005.html").exists());
}

#[test]
fn restraint_stands_beside_the_claim_that_fits() {
    let folder = tempfile::tempdir().unwrap();
    let season = repository("small-sample/season.pgn");
    common::scan(&[&season], folder.path(), &[]);
    let run = |arguments: &[&str]| {
        let output = hobble()
            .args(arguments)
            .arg("--data")
            .arg(folder.path())
            .args(["--format", "json"])
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{said}");
        serde_json::from_slice::<Value>(&output.stdout).unwrap()
    };
    let season = season.to_string_lossy().into_owned();
    let mut beside = 0;
    for number in 1..=30 {
        let walk = run(&["game", &season, "--game", &number.to_string()]);
        for claim in walk["archive"].as_array().unwrap() {
            let name = claim["claim"].as_str().unwrap();
            let answer = run(&["ask", name]);
            let row = answer["comparison"]
                .as_array()
                .unwrap()
                .iter()
                .find(|row| row["within"] == answer["claim"]["within"])
                .unwrap();
            let rate = &row["held_rate"];
            let expected = match (rate["value"].as_f64(), rate["jackknife"].is_object()) {
                (Some(rate), true) => format!("{:.1}% lost within", rate * 100.0),
                _ => "too few games".to_owned(),
            };
            let figure = claim["figure"].as_str().unwrap();
            assert!(
                figure.starts_with(&expected),
                "{figure}, expected {expected}"
            );
            let rungs = ["none", "cannot be told", "association", "twins", "guards"];
            let rung = claim["rung"].as_str().unwrap();
            assert!(
                rungs.iter().any(|name| rung == format!("evidence: {name}")),
                "{rung}"
            );
            for restraint in claim["restraints"].as_array().unwrap() {
                let unit = restraint["unit"].as_u64().unwrap() as usize;
                let kind = walk["units"][unit]["kind"].as_str().unwrap();
                assert!(name.contains(kind), "{name} beside a {kind}");
                beside += 1;
            }
        }
    }
    assert!(beside >= 3, "{beside} restraints stand beside a claim");
}

#[test]
fn page_of_a_game_of_eighty_plies_is_small() {
    let season = repository("small-sample/season.pgn");
    let mut long = 0;
    for number in ["1", "12", "40", "77"] {
        let text = hobble()
            .arg("game")
            .arg(&season)
            .args(["--game", number, "--format", "json"])
            .output()
            .unwrap();
        let walk: Value = serde_json::from_slice(&text.stdout).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let page = folder.path().join("page.html");
        let output = hobble()
            .arg("game")
            .arg(&season)
            .args(["--game", number, "--out"])
            .arg(&page)
            .output()
            .unwrap();
        assert!(output.status.success());
        let bytes = fs::metadata(&page).unwrap().len();
        let plies = walk["plies"].as_array().unwrap().len() as u64;
        assert!(
            bytes < 200_000 + plies * 10_000,
            "{bytes} bytes for {plies} plies"
        );
        long += usize::from(plies >= 80 && bytes < 1_000_000);
    }
    assert!(long > 0, "no game of 80 plies among them");
}
