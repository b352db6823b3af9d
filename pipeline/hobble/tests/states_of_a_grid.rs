//! A grid of claims counts the parts three times, and states of each count add up: the league is that of
//! one folder, byte for byte.

mod common;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use common::states::{STRIPES, TABLES, state, well};
use common::{assert_refused, file, gather, hobble, repository, scan, sorted};

/// Few claims, so that the season has pieces enough for some.
const GRID: &str = "format = 1\nkinds = [\"knight\", \"bishop\", \"rook\", \"queen\"]\nk = [1, 2]\nturns = [2, 3]\nwithin = 10\noutcome = \"captured\"\nmost_conditions = 1\nopen_at_most = 24\n\n[conditions]\nby = [\"pawn\", \"piece\"]\nphase = [[\"middlegame\"]]\n";

fn sift(arguments: &[&str], paths: &[PathBuf]) -> Output {
    let mut command = hobble();
    let output = command.arg("sift").args(arguments).args(paths).output();
    output.expect("the program runs")
}

/// The league and the files of its claims, by their names.
fn league(out: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut files = common::files(out);
    files.retain(|name, _| name.to_string_lossy() != "ledger.json");
    assert!(files.contains_key(Path::new("league.html")), "{files:?}");
    files
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a path")
}

/// Counts all shares, and adds them in another order.
fn sum_of_shares(grid: &Path, more: &[&str], to: &Path) -> PathBuf {
    let count = |index| {
        let path = to.with_extension(format!("{index}.state"));
        let stripe = format!("{index}/{STRIPES}");
        let asked = [text(grid), "--data", text(TABLES.path())];
        let share = ["--stripe", &stripe, "--state"];
        well(sift(
            &[&asked, more, &share].concat(),
            std::slice::from_ref(&path),
        ));
        path
    };
    let mut states: Vec<PathBuf> = (0..STRIPES).map(count).collect();
    states.rotate_right(1);
    well(sift(&["--state", text(to), "--from"], &states));
    to.to_owned()
}

#[test]
fn shares_and_folders_make_the_league_of_the_whole() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let grid = file(folder.path(), "grid.toml", GRID);
    let ledger = |name: &str| at(name).to_str().unwrap().to_owned();
    let whole = |data: &[&str], out: &Path, ledger: &str| {
        let asked = [&[text(&grid)], data, &["--ledger", ledger, "--out"]].concat();
        well(sift(&asked, &[out.to_owned()]))
    };
    let said = whole(&["--data", text(TABLES.path())], &at("whole"), &ledger("a"));

    let moves = sum_of_shares(&grid, &[], &at("moves"));
    let first = ["--first", text(&moves)];
    let found = sum_of_shares(&grid, &first, &at("found"));
    let opened = ledger("b");
    let first = ["--first", text(&found), "--ledger", &opened];
    let last = sum_of_shares(&grid, &first, &at("last"));
    let printed = well(sift(&["--out", text(&at("added")), "--from"], &[last]));
    assert_eq!(league(&at("added")), league(&at("whole")));
    assert_eq!(printed.replace("/added/", "/whole/"), said);

    // Archives scanned apart, and the same gathered.
    let scanned = |(number, part): (usize, PathBuf)| {
        let out = at(&number.to_string());
        scan(&[part.as_path()], &out, &["--repeats", "keep"]);
        out
    };
    let parts = sorted(&repository("small-sample/season-parts"));
    let scans: Vec<PathBuf> = parts.into_iter().enumerate().map(scanned).collect();
    let named: Vec<&str> = scans.iter().flat_map(|one| ["--data", text(one)]).collect();
    whole(&named, &at("together"), &ledger("c"));
    let gathered = at("gathered");
    assert!(gather(&scans, &gathered).status.success());
    whole(&["--data", text(&gathered)], &at("one"), &ledger("d"));
    assert_eq!(league(&at("together")), league(&at("one")));
}

#[test]
fn what_does_not_fit_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let grid = file(folder.path(), "grid.toml", GRID);
    let moves = sum_of_shares(&grid, &[], &at("moves"));
    let refused = |arguments: &[&str], paths: &[PathBuf], words: &str| {
        assert_refused(&sift(arguments, paths), words);
    };
    let out = at("out");
    let league = ["--out", text(&out), "--from"];
    refused(
        &league,
        std::slice::from_ref(&moves),
        "count the parts again with --first",
    );
    let data = ["--data", text(TABLES.path())];
    let shipped = [&data[..], &["--first", text(&moves), "--state"]].concat();
    refused(&shipped, &[at("a")], "the state is of another question");
    let of_claim = state("rook-restrained", TABLES.path(), Some("1/4"), &at("claim"));
    let both = [moves, of_claim];
    refused(&league, &both, "claim: of a question, not of a grid");
    for arguments in [
        &[&data[..], &["--stripe", "0/2", "--out"]].concat(),
        &[&data[..], &["--from"]].concat(),
        &vec!["--out"],
    ] {
        let output = sift(arguments, &[at("none")]);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    }
    assert!(!fs::exists(at("none")).unwrap());
}
