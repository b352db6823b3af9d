//! The same games give the same tables: whatever the packing, the number of threads, the
//! size of the blocks, the files they are spread over, and however often the scan was
//! interrupted.

mod common;

use std::fs;
use std::path::Path;
use std::process::Stdio;

use common::{cube, hobble, placeless, repository, scan, table, try_scan};

const TABLES: [&str; 9] = [
    "games",
    "moves",
    "spells",
    "turns",
    "decisions",
    "sides",
    "players",
    "exposure",
    "skipped",
];

fn season() -> std::path::PathBuf {
    repository("small-sample/season.pgn")
}

fn assert_same(a: &Path, b: &Path, what: &str) {
    for name in TABLES {
        assert_eq!(table(a, name), table(b, name), "{what}: {name}");
    }
}

#[test]
fn number_of_threads_changes_nothing() {
    let folders: Vec<_> = ["1", "2", "5"]
        .iter()
        .map(|threads| {
            let data = tempfile::tempdir().unwrap();
            let more = [
                "--threads",
                threads,
                "--block-kib",
                "16",
                "--part-blocks",
                "9",
            ];
            scan(&[&season()], data.path(), &more);
            data
        })
        .collect();
    for other in &folders[1..] {
        assert_same(folders[0].path(), other.path(), "threads");
    }
}

#[test]
fn sizes_of_blocks_and_parts_change_no_row() {
    let whole = tempfile::tempdir().unwrap();
    scan(&[&season()], whole.path(), &[]);
    for (block, part) in [("1", "50"), ("37", "2"), ("300", "1")] {
        let data = tempfile::tempdir().unwrap();
        let more = ["--block-kib", block, "--part-blocks", part];
        scan(&[&season()], data.path(), &more);
        // The cube's rows depend on the parts; they are added up below.
        for name in TABLES.into_iter().filter(|name| *name != "exposure") {
            assert_eq!(
                table(whole.path(), name),
                table(data.path(), name),
                "{block}: {name}"
            );
        }
        assert_eq!(cube(whole.path()), cube(data.path()), "{block}");
    }
}

#[test]
fn packing_and_files_change_no_row() {
    let whole = tempfile::tempdir().unwrap();
    scan(&[&season()], whole.path(), &[]);
    // A folder of the same season in a .zst, a .gz and a .bz2 file.
    let parts = tempfile::tempdir().unwrap();
    scan(
        &[&repository("small-sample/season-parts")],
        parts.path(),
        &[],
    );
    let piped = tempfile::tempdir().unwrap();
    let output = hobble()
        .args(["scan", "-", "--out"])
        .arg(piped.path())
        .stdin(Stdio::from(fs::File::open(season()).unwrap()))
        .output()
        .unwrap();
    assert!(output.status.success());
    for other in [&parts, &piped] {
        for name in [
            "games",
            "moves",
            "spells",
            "turns",
            "decisions",
            "sides",
            "players",
        ] {
            assert_eq!(
                placeless(whole.path(), name),
                placeless(other.path(), name),
                "{name}"
            );
        }
        assert_eq!(cube(whole.path()), cube(other.path()));
    }
}

#[test]
fn games_added_later_add_up() {
    let together = tempfile::tempdir().unwrap();
    let apart = tempfile::tempdir().unwrap();
    let files = common::sorted(&repository("small-sample/season-parts"));
    let files: Vec<&Path> = files.iter().map(AsRef::as_ref).collect();
    scan(&files, together.path(), &[]);
    for file in &files {
        scan(&[file], apart.path(), &[]);
    }
    assert_same(together.path(), apart.path(), "added later");
    let manifest = |data: &Path| fs::read_to_string(data.join("manifest.json")).unwrap();
    assert_eq!(manifest(together.path()), manifest(apart.path()));
}

#[test]
fn interrupted_scan_is_completed() {
    let whole = tempfile::tempdir().unwrap();
    let more = ["--block-kib", "8", "--part-blocks", "3", "--threads", "2"];
    scan(&[&season()], whole.path(), &more);
    let broken = tempfile::tempdir().unwrap();
    let mut kills = 0;
    // Killed outright again and again, a little later each time.
    for wait in (2..).step_by(7).take(40) {
        let mut child = hobble()
            .arg("scan")
            .arg(season())
            .arg("--out")
            .arg(broken.path())
            .args(more)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(std::time::Duration::from_millis(wait));
        if child.try_wait().unwrap().is_some() {
            break;
        }
        child.kill().unwrap();
        child.wait().unwrap();
        kills += 1;
    }
    assert!(kills > 0, "the scan was never caught in the middle");
    scan(&[&season()], broken.path(), &more);
    assert_same(whole.path(), broken.path(), "interrupted");
    let manifest = |data: &Path| fs::read_to_string(data.join("manifest.json")).unwrap();
    assert_eq!(manifest(whole.path()), manifest(broken.path()));
    let check = hobble()
        .arg("check")
        .arg("--data")
        .arg(broken.path())
        .output()
        .unwrap();
    assert!(
        check.status.success(),
        "{}",
        String::from_utf8_lossy(&check.stdout)
    );
}

#[test]
fn scanned_folder_is_left_as_it_is() {
    let data = tempfile::tempdir().unwrap();
    scan(&[&season()], data.path(), &[]);
    let before = fs::read(data.path().join("manifest.json")).unwrap();
    let again = scan(&[&season()], data.path(), &[]);
    assert!(String::from_utf8_lossy(&again.stderr).contains("scanned before"));
    assert_eq!(before, fs::read(data.path().join("manifest.json")).unwrap());
    let other = try_scan(&[&season()], data.path(), &["--band-width", "100"]);
    assert_eq!(other.status.code(), Some(2));
    let said = String::from_utf8_lossy(&other.stderr);
    assert!(said.contains("rating band width 200, not 100"), "{said}");
}

#[test]
fn check_reports_wrong_counts_and_unlisted_files() {
    let data = tempfile::tempdir().unwrap();
    scan(&[&season()], data.path(), &[]);
    let check = |more: &[&str]| {
        let output = hobble()
            .arg("check")
            .arg("--data")
            .arg(data.path())
            .args(more)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        (output.status.code(), said)
    };
    assert_eq!(check(&["--expect", "games=400"]).0, Some(0));
    assert_eq!(check(&["--expect", "games=401"]).0, Some(1));
    // A count changed in the manifest.
    let path = data.path().join("manifest.json");
    let manifest = fs::read_to_string(&path).unwrap();
    let plies = manifest.find("\"plies\": ").unwrap();
    let changed = format!(
        "{}\"plies\": 1{}",
        &manifest[..plies],
        &manifest[plies + 9..]
    );
    fs::write(&path, changed).unwrap();
    let (code, said) = check(&[]);
    assert_eq!(code, Some(1));
    assert!(said.contains("DIFFERS plies"), "{said}");
    fs::write(&path, &manifest).unwrap();
    // A file that the manifest does not name.
    let folder = common::sorted(&data.path().join("games")).remove(0);
    let part = common::sorted(&folder).remove(0);
    fs::copy(&part, folder.join("part-00009.parquet")).unwrap();
    let (code, said) = check(&[]);
    assert_eq!(code, Some(1));
    assert!(
        said.contains("part-00009.parquet: not in the manifest"),
        "{said}"
    );
}
