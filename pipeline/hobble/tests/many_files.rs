//! Many small archives share parts: their tables are those of one file with the same text.

mod common;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use arrow_array::cast::AsArray as _;
use common::{
    assert_same, check, hobble, interrupt, manifest, placeless, repository, scan, season, table,
    try_scan,
};

const SMALL: [&str; 6] = ["--block-kib", "16", "--part-blocks", "3", "--threads", "2"];

/// The season in files of some games each, numbered in its order.
fn cut(folder: &Path, games: usize) -> Vec<PathBuf> {
    fs::create_dir_all(folder).expect("a folder");
    let season = fs::read_to_string(season()).expect("the season");
    let starts: Vec<usize> = season.match_indices("[Event ").map(|(at, _)| at).collect();
    let mut files = Vec::new();
    for (number, starts_of_file) in starts.chunks(games).enumerate() {
        let end = starts.get((number + 1) * games).copied();
        let text = &season[starts_of_file[0]..end.unwrap_or(season.len())];
        let path = folder.join(format!("{number:04}.pgn"));
        fs::write(&path, text).expect("written");
        files.push(path);
    }
    files
}

/// Games by the name of their file.
fn games_of_files(data: &Path) -> BTreeMap<String, usize> {
    let games = table(data, "games");
    let mut found = BTreeMap::new();
    for file in games["file"].as_string::<i32>().iter().flatten() {
        let name = file.rsplit('/').next().unwrap_or(file);
        *found.entry(name.to_owned()).or_default() += 1;
    }
    found
}

/// Where games stand differs.
fn assert_same_rows(whole: &Path, many: &Path, what: &str) {
    for name in ["games", "moves", "spells", "exposure"] {
        assert_eq!(
            placeless(whole, name),
            placeless(many, name),
            "{what}: {name}"
        );
    }
}

#[test]
fn tables_are_those_of_one_file() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let files = cut(&at("files"), 4);
    assert_eq!(files.len(), 100);
    scan(&[&season()], &at("whole"), &[]);
    scan(&[&at("files")], &at("many"), &[]);
    assert_same_rows(&at("whole"), &at("many"), "default sizes");
    let manifest = manifest(&at("many"));
    assert_eq!(manifest["sources"].as_array().map(Vec::len), Some(1));
    let size = |data: &str| common::bytes(&at(data)) as f64;
    assert!(
        size("many") < 1.02 * size("whole"),
        "{} {}",
        size("many"),
        size("whole")
    );
    let found = games_of_files(&at("many"));
    assert_eq!(found.len(), 100);
    assert!(found.values().all(|&games| games == 4));
    check(&at("many"));
    // Each file is known by its bytes.
    let output = hobble()
        .args(["check", "--archive"])
        .arg(&files[17])
        .arg("--data")
        .arg(at("many"))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{said}");
    assert!(
        said.contains("0017.pgn: SHA-256 as in the manifest"),
        "{said}"
    );
}

#[test]
fn files_added_later_make_a_bundle_of_their_own() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let files = cut(&at("files"), 4);
    let later = at("later");
    fs::create_dir_all(&later).unwrap();
    for file in &files[60..] {
        fs::rename(file, later.join(file.file_name().unwrap())).unwrap();
    }
    scan(&[&season()], &at("whole"), &[]);
    scan(&[&at("files")], &at("many"), &[]);
    scan(&[&at("files"), &later], &at("many"), &[]);
    assert_same_rows(&at("whole"), &at("many"), "added later");
    check(&at("many"));
    // Nothing is read again.
    let before = fs::read(at("many").join("manifest.json")).unwrap();
    scan(&[&at("files"), &later], &at("many"), &[]);
    assert_eq!(before, fs::read(at("many").join("manifest.json")).unwrap());
    fs::write(later.join("0070.pgn"), "[Event \"other\"]\n\n1. e4 *\n").unwrap();
    let refused = try_scan(&[&at("files"), &later], &at("many"), &[]);
    let said = String::from_utf8_lossy(&refused.stderr);
    assert!(
        said.contains("0070.pgn: has changed since its scan"),
        "{said}"
    );
}

#[test]
fn interrupted_scan_of_many_files_is_completed() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    cut(&at("files"), 2);
    scan(&[&at("files")], &at("whole"), &SMALL);
    interrupt(&at("files"), &at("broken"), &SMALL, 9);
    scan(&[&at("files")], &at("broken"), &SMALL);
    assert_same(&at("whole"), &at("broken"), "interrupted");
    assert_eq!(manifest(&at("whole")), manifest(&at("broken")));
    check(&at("broken"));
}

#[test]
fn broken_file_among_many_is_set_apart() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let files = cut(&at("files"), 4);
    // Half a packed file in the middle, and an empty one.
    let packed = fs::read(
        repository("small-sample/season-parts").join(
            common::sorted(&repository("small-sample/season-parts"))[0]
                .file_name()
                .unwrap(),
        ),
    )
    .unwrap();
    let name = common::sorted(&repository("small-sample/season-parts"))[0].clone();
    let ending = name
        .to_string_lossy()
        .rsplit_once(".pgn")
        .unwrap()
        .1
        .to_owned();
    fs::write(
        at("files").join(format!("0010b.pgn{ending}")),
        &packed[..packed.len() / 2],
    )
    .unwrap();
    fs::write(at("files/0020b.pgn"), "").unwrap();
    let output = try_scan(&[&at("files")], &at("many"), &["--repeats", "keep"]);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.contains("0010b.pgn") && said.contains("what came before is kept"),
        "{said}"
    );
    let manifest = manifest(&at("many"));
    let sources = manifest["sources"].as_array().unwrap();
    assert_eq!(sources.len(), 2);
    assert!(sources[1]["error"].is_string() && sources[1]["source"] != "bundle-2");
    let found = games_of_files(&at("many"));
    let whole = found.iter().filter(|(name, _)| !name.contains('b'));
    assert_eq!(
        whole.map(|(_, games)| games).sum::<usize>(),
        4 * files.len()
    );
}
