//! `hobble deposit`: a folder that can be published, and read by the program.

mod common;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use common::{hobble, repository, scan};
use hobble_archive::stream::sha256;
use serde_json::Value;

fn deposit(data: &Path, out: &Path) -> Output {
    hobble()
        .arg("deposit")
        .arg("--data")
        .arg(data)
        .arg("--out")
        .arg(out)
        .args(["--creator", "Windlass, Orla", "--licence", "CC0-1.0"])
        .output()
        .expect("the program runs")
}

fn read(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).expect("a file of the deposit")
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("a folder");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    paths
        .flat_map(|path| match path.is_dir() {
            true => files(&path),
            false => vec![path],
        })
        .collect()
}

fn has(bytes: &[u8], words: &[u8]) -> bool {
    bytes.windows(words.len()).any(|window| window == words)
}

/// An archive named by its whole path, with its tables and their deposit.
fn deposited(work: &Path) -> (PathBuf, PathBuf) {
    let private = work.join("private-folder");
    fs::create_dir(&private).unwrap();
    let archive = private.join("season.pgn");
    fs::copy(repository("small-sample/season.pgn"), &archive).unwrap();
    let (data, out) = (work.join("data"), work.join("deposit"));
    scan(&[&archive], &data, &["--origin", "An invented club"]);
    let done = deposit(&data, &out);
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{said}");
    assert!(said.contains("not given: the title (--title)"), "{said}");
    assert!(said.contains("licence of archives"), "{said}");
    assert!(!said.contains("--creator"), "{said}");
    (data, out)
}

#[test]
fn deposit_is_whole_and_names_no_folder() {
    let work = tempfile::tempdir().unwrap();
    let (data, out) = deposited(work.path());
    for file in files(&out) {
        let bytes = fs::read(&file).unwrap();
        assert!(!has(&bytes, b"private-folder"), "{}", file.display());
    }
    // What it says of the archive and its hashes.
    let package: Value = serde_json::from_str(&read(&out, "datapackage.json")).unwrap();
    assert_eq!(package["sources"][0]["title"], "season.pgn");
    assert_eq!(package["sources"][0]["origin"], "An invented club");
    let mut tables = 0;
    for line in read(&out, "SHA256SUMS").lines() {
        let (hash, path) = line.split_once("  ").unwrap();
        assert_eq!(hash, sha256(&fs::read(out.join(path)).unwrap()), "{path}");
        tables += usize::from(path.ends_with(".parquet"));
    }
    let parquet = |folder: &Path| {
        let files = files(folder).into_iter();
        files
            .filter(|file| file.extension().is_some_and(|end| end == "parquet"))
            .count()
    };
    assert_eq!(tables, parquet(&out));
    assert_eq!(tables, parquet(&data));
    // The same rows but for the name of the archive.
    let (before, after) = (common::table(&data, "games"), common::table(&out, "games"));
    for (name, column) in before.schema().fields().iter().zip(before.columns()) {
        let other = after.column_by_name(name.name()).unwrap();
        assert_eq!(column == other, name.name() != "file", "{name}");
    }
}

#[test]
fn program_reads_a_deposit_as_it_reads_the_tables() {
    let work = tempfile::tempdir().unwrap();
    let (data, out) = deposited(work.path());
    let check = hobble().args(["check", "--data"]).arg(&out).output();
    let check = check.unwrap();
    assert!(
        check.status.success(),
        "{}",
        String::from_utf8_lossy(&check.stdout)
    );
    let ask = |data: &Path| {
        let mut ask = hobble();
        ask.args(["ask", "held-piece-lost", "--format", "csv", "--data"]);
        let done = ask.arg(data).output().unwrap();
        assert!(done.status.success());
        String::from_utf8_lossy(&done.stdout).into_owned()
    };
    assert_eq!(ask(&data), ask(&out));
}

#[test]
fn folder_with_files_and_unfinished_scan_are_refused_in_one_line() {
    let work = tempfile::tempdir().unwrap();
    let data = work.path().join("data");
    scan(&[&repository("small-sample/season.pgn")], &data, &[]);
    let refused = |words: &str, out: &Path| {
        let done = deposit(&data, out);
        assert_eq!(done.status.code(), Some(2));
        let said = String::from_utf8_lossy(&done.stderr);
        assert_eq!(said.lines().count(), 1, "{said}");
        assert!(said.contains(words), "{said}");
    };
    refused("is not empty", &data);
    let manifest = read(&data, "manifest.json");
    let unfinished = manifest.replacen("\"complete\": true", "\"complete\": false", 1);
    fs::write(data.join("manifest.json"), unfinished).unwrap();
    refused("has not read all archives", &work.path().join("deposit"));
}
