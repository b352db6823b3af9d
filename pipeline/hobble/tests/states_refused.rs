//! States that are not whole, do not belong together, or are none: one line says which and why.

mod common;

use std::fs;
use std::path::PathBuf;

use common::states::{SMALL, TABLES, added, ask, state, stripes, well, whole};
use common::{assert_refused, file, hobble, repository, scan, season, sorted};
use serde_json::Value;

#[test]
fn parts_that_are_missing_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let states = stripes("rook-restrained", TABLES.as_path(), folder.path());
    let some = &states[..2];
    let refused = ask(&["--from"], some);
    assert_refused(&refused, "not all is counted: ");
    assert_refused(&refused, "part 2 of season.pgn, part 3 of season.pgn");
    assert_refused(&refused, "--partial");
    let partial = ask(&["--partial", "--format", "json", "--from"], some);
    let said = String::from_utf8_lossy(&partial.stderr).into_owned();
    assert!(
        said.starts_with("not all parts are counted; the figures are of "),
        "{said}"
    );
    let partial: Value = serde_json::from_str(&well(partial)).unwrap();
    let all: Value = serde_json::from_str(&whole("rook-restrained", TABLES.as_path())).unwrap();
    let number = |answer: &Value, of: &str| answer["dataset"][of].as_u64().unwrap();
    let kept = number(&partial, "kept");
    assert!(kept > 0 && kept < number(&all, "kept"));
    assert!(partial["spells"].as_u64() < all["spells"].as_u64());
    let notes = partial["notes"].to_string();
    assert!(
        notes.contains("Some parts of the tables are not counted"),
        "{notes}"
    );
    // Of all parts the option changes nothing.
    let whole_of_all = ask(&["--partial", "--format", "json", "--from"], &states);
    assert_eq!(well(whole_of_all), added(&states));
}

#[test]
fn states_that_do_not_fit_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let data = TABLES.as_path();
    let states = stripes("rook-restrained", data, folder.path());
    let from = |paths: &[PathBuf]| ask(&["--from"], paths);
    let twice = [&states[..], &states[1..2]].concat();
    assert_refused(
        &from(&twice),
        "1.state: state: part 1 of season.pgn is counted twice",
    );
    let other = state("queen-restrained", data, Some("1/4"), &at("queen.state"));
    let of_others = "queen.state: state: states of different questions cannot be added";
    assert_refused(&from(&[states[0].clone(), other]), of_others);
    let bands = state("restraint-by-band", data, Some("1/4"), &at("bands.state"));
    assert_refused(&from(&[states[0].clone(), bands]), "different questions");
    // The same question with other bounds.
    let path = data.to_str().unwrap();
    let k = ["rook-restrained", "--k", "1", "--data", path, "--state"];
    well(ask(&k, &[at("k.state")]));
    assert_refused(
        &from(&[states[0].clone(), at("k.state")]),
        "different questions",
    );
    // The archive scanned again, with the same and with other parameters.
    let again = at("again");
    scan(
        &[&season()],
        &again,
        &[&SMALL[..], &["--sample", "3"]].concat(),
    );
    let again = state("rook-restrained", &again, None, &at("again.state"));
    assert_refused(
        &from(&[states[0].clone(), again]),
        "differ in their parameters",
    );
    let copy = at("copy");
    let mut command = hobble();
    command.env("SOURCE_DATE_EPOCH", "1935565201");
    let output = command
        .arg("scan")
        .arg(season())
        .args(SMALL)
        .arg("--out")
        .arg(&copy)
        .output();
    assert!(output.unwrap().status.success());
    let copy = state("rook-restrained", &copy, None, &at("copy.state"));
    assert_refused(
        &from(&[states[0].clone(), copy]),
        "is counted from two scans of it",
    );
    // Other archives under one name.
    fs::create_dir(at("other")).unwrap();
    let text = fs::read_to_string(season()).unwrap();
    let shorter = file(&at("other"), "season.pgn", &text[..text.len() / 2]);
    scan(&[&shorter], &at("shorter"), &SMALL);
    let shorter = state(
        "rook-restrained",
        &at("shorter"),
        None,
        &at("shorter.state"),
    );
    assert_refused(
        &from(&[states[0].clone(), shorter]),
        "call different archives \"season.pgn\"",
    );
}

/// Repeats left out by lists of several passes.
#[test]
fn several_passes_of_repeats_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let parts = sorted(&repository("small-sample/season-parts"));
    let mut states = Vec::new();
    for (number, part) in parts.iter().take(3).enumerate() {
        let list = file(
            folder.path(),
            "list.csv",
            format!(
                "# pass {}\ngame,key,original_source,original_game\n",
                number / 2
            ),
        );
        let out = folder.path().join(number.to_string());
        scan(&[part], &out, &["--repeats-list", list.to_str().unwrap()]);
        let path = folder.path().join(format!("{number}.state"));
        states.push(state("rook-restrained", &out, None, &path));
    }
    added(&states[..2]);
    assert_refused(
        &ask(&["--from"], &states),
        "2.state: state: the scans counted left out repeats by lists of different passes",
    );
}

#[test]
fn files_that_are_no_states_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let one = state("rook-restrained", TABLES.as_path(), None, &at("one.state"));
    let bytes = fs::read(&one).unwrap();
    let refused = |bytes: &[u8], words: &str| {
        let path = file(folder.path(), "bad.state", bytes);
        assert_refused(&ask(&["--from"], &[path]), words);
    };
    refused(
        b"[Event \"x\"]",
        "bad.state: not a file that `hobble ask --state` wrote, or damaged",
    );
    refused(b"", "bad.state: ");
    for at in [bytes.len() / 4, bytes.len() / 2, bytes.len() - 1] {
        refused(&bytes[..at], "bad.state: ");
        let mut damaged = bytes.clone();
        damaged[at] ^= 0x55;
        refused(&damaged, "bad.state: ");
    }
    let text = zstd::decode_all(&bytes[..]).unwrap();
    let text = String::from_utf8(text).unwrap();
    let changed = |from: &str, to: &str| {
        assert!(text.contains(from), "{}", &text[..200]);
        zstd::encode_all(text.replacen(from, to, 1).as_bytes(), 1).unwrap()
    };
    let version = env!("CARGO_PKG_VERSION");
    refused(
        &changed("{\"format\":4,", "{\"format\":1,"),
        "format 1 of hobble ",
    );
    let newer = format!("\"hobble\":\"{version}\"");
    refused(
        &changed(&newer, "\"hobble\":\"99.0.0\""),
        "of hobble 99.0.0, this program reads",
    );
    refused(
        &changed("\"about\":\"claim\"", "\"about\":\"moons\""),
        "unknown sort of question \"moons\"",
    );
    let before = changed("\"definitions\":3", "\"definitions\":2");
    let path = file(folder.path(), "before.state", before);
    let half = state(
        "rook-restrained",
        TABLES.as_path(),
        Some("0/2"),
        &at("half.state"),
    );
    assert_refused(
        &ask(&["--from"], &[half, path]),
        "states by definitions 3 and 2",
    );
    assert_refused(
        &ask(&["--from"], &[at("none.state")]),
        "none.state: cannot be read",
    );
    // A file that cannot be written leaves nothing behind.
    let data = TABLES.as_path().to_str().unwrap();
    let nowhere = at("no-folder").join("a.state");
    let output = ask(&["rook-restrained", "--data", data, "--state"], &[nowhere]);
    assert_refused(&output, "a.state: cannot be written");
}

#[test]
fn arguments_that_do_not_go_together_are_refused() {
    let data = TABLES.as_path().to_str().unwrap();
    let share = ["rook-restrained", "--data", data, "--stripe", "0/2"];
    assert_refused(
        &ask(&share, &[]),
        "--stripe and --first: an answer is to all parts",
    );
    for both in [
        ["rook-restrained", "--from", "a"],
        ["--partial", "--data", "a"],
    ] {
        assert_eq!(ask(&both, &[]).status.code(), Some(2), "{both:?}");
    }
}
