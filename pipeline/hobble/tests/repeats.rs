//! Games that repeat one read before are left out, however the archives come.

mod common;

use std::fs;
use std::path::Path;

use arrow_array::Array as _;
use arrow_array::cast::AsArray as _;
use common::{assert_same, check, cube, file, gather, manifest, placeless, scan, season, table};

const SMALL: [&str; 4] = ["--block-kib", "16", "--part-blocks", "3"];

/// A count of the account, over all sources.
fn count(data: &Path, name: &str) -> u64 {
    let manifest = manifest(data);
    let sources = manifest["sources"].as_array().expect("sources").clone();
    sources
        .iter()
        .filter_map(|source| source[name].as_u64())
        .sum()
}

/// The tables of `a` and `b` hold the same rows, apart from where games stand.
fn assert_same_rows(a: &Path, b: &Path, what: &str) {
    for name in ["games", "moves", "spells"] {
        assert_eq!(placeless(a, name), placeless(b, name), "{what}: {name}");
    }
    assert_eq!(cube(a), cube(b), "{what}");
}

#[test]
fn archive_given_twice_yields_the_tables_of_one() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let text = fs::read(season()).unwrap();
    let twice = file(folder.path(), "twice.pgn", [&text[..], &text[..]].concat());
    let copy = file(folder.path(), "copy.pgn", &text);
    scan(&[&season()], &at("one"), &SMALL);
    assert_eq!(count(&at("one"), "repeats"), 0);
    for threads in ["1", "2", "5"] {
        let more = [&SMALL[..], &["--threads", threads]].concat();
        let data = at(&format!("in-one-file-{threads}"));
        scan(&[&twice], &data, &more);
        assert_same_rows(&at("one"), &data, threads);
        assert_eq!(count(&data, "read"), 800);
        assert_eq!(count(&data, "repeats"), 400);
        check(&data);
    }
    scan(&[&season(), &copy, &twice], &at("three-files"), &SMALL);
    assert_same_rows(&at("one"), &at("three-files"), "three files");
    assert_eq!(count(&at("three-files"), "repeats"), 1200);
    check(&at("three-files"));
}

#[test]
fn archives_may_come_later_and_as_stripes() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let text = fs::read(season()).unwrap();
    let copy = file(folder.path(), "copy.pgn", &text);
    let twice = file(folder.path(), "twice.pgn", [&text[..], &text[..]].concat());
    scan(&[&season(), &copy], &at("together"), &SMALL);
    for archive in [&season(), &copy] {
        scan(&[archive], &at("later"), &SMALL);
    }
    assert_same(&at("together"), &at("later"), "added later");
    scan(&[&twice], &at("whole"), &SMALL);
    let stripes = ["0/3", "1/3", "2/3"].map(|stripe| {
        let data = at(&stripe.replace('/', "-of-"));
        scan(
            &[&twice],
            &data,
            &[&SMALL[..], &["--stripe", stripe]].concat(),
        );
        data
    });
    assert!(gather(&stripes, &at("gathered")).status.success());
    assert_same(&at("whole"), &at("gathered"), "stripes");
}

#[test]
fn repeats_are_named_and_may_be_kept() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let game = |white: &str, result: &str| {
        let moves =
            "1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 4. Ba4 Nf6 5. O-O Be7 6. Re1 b5 7. Bb3 d6 8. c3 O-O";
        format!("[White \"{white}\"]\n[Black \"Burdock, Ulf\"]\n\n{moves} {result}\n\n")
    };
    let text = [
        game("Sedge, Ida", "1-0"),
        game("I. SEDGE", "1-0"),
        game("Thistle, Jo", "1-0"),
        game("?", "1-0"),
        game("Sedge, Ida", "0-1"),
    ]
    .concat();
    let archive = file(folder.path(), "a.pgn", text.as_bytes());
    let output = scan(&[&archive], &at("out"), &[]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.contains("2 × repeat: ") && said.contains("games left out"),
        "{said}"
    );
    let account = String::from_utf8_lossy(&output.stdout);
    let sum = "read = kept + repeats + skipped: 5 = 3 + 2 + 0: reconciles";
    assert!(account.contains(sum), "{account}");
    let skipped = table(&at("out"), "skipped");
    assert_eq!(skipped.num_rows(), 2);
    let words: Vec<_> = skipped["words"].as_string::<i32>().iter().collect();
    assert_eq!(words, [Some("game 1 of a.pgn"); 2]);
    scan(&[&archive], &at("kept"), &["--repeats", "keep"]);
    assert_eq!(
        (count(&at("kept"), "kept"), count(&at("kept"), "repeats")),
        (5, 0)
    );
    // They are marked, both sides of each, and the first game is not.
    let marked = |data: &Path| {
        let sides = common::table(data, "sides");
        let marks = sides.column_by_name("is_repeat").unwrap();
        let marks = marks.as_boolean();
        assert_eq!(marks.null_count(), 0);
        (marks.len(), marks.true_count())
    };
    assert_eq!(marked(&at("kept")), (10, 4));
    assert_eq!(marked(&at("out")), (6, 0));
}
