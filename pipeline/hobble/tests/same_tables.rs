//! The same games give the same tables: whatever the packing, the number of threads, the
//! size of the blocks, the files they are spread over, and however often the scan was
//! interrupted.

mod common;

use std::fs;
use std::path::Path;
use std::process::Stdio;

use common::{
    TABLES, assert_same, cube, files, hobble, interrupt, manifest, placeless, repository, scan,
    season, table, try_scan,
};

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
        // All but the cube, which is added up below, and what was skipped.
        for name in &TABLES[..7] {
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
    let archives = common::sorted(&repository("small-sample/season-parts"));
    let archives: Vec<&Path> = archives.iter().map(AsRef::as_ref).collect();
    scan(&archives, together.path(), &[]);
    for file in &archives {
        scan(&[file], apart.path(), &[]);
    }
    assert_same(together.path(), apart.path(), "added later");
    assert_eq!(manifest(together.path()), manifest(apart.path()));
}

#[test]
fn interrupted_scan_is_completed() {
    let whole = tempfile::tempdir().unwrap();
    let more = ["--block-kib", "8", "--part-blocks", "3", "--threads", "2"];
    scan(&[&season()], whole.path(), &more);
    let broken = tempfile::tempdir().unwrap();
    interrupt(&season(), broken.path(), &more, 7);
    scan(&[&season()], broken.path(), &more);
    assert_same(whole.path(), broken.path(), "interrupted");
    assert!(files(whole.path()) == files(broken.path()));
    common::check(broken.path());
}

#[test]
fn scanned_folder_is_left_as_it_is() {
    let data = tempfile::tempdir().unwrap();
    scan(&[&season()], data.path(), &[]);
    let before = fs::read(data.path().join("manifest.json")).unwrap();
    let again = scan(&[&season()], data.path(), &[]);
    assert!(String::from_utf8_lossy(&again.stderr).contains("scanned before"));
    assert_eq!(before, fs::read(data.path().join("manifest.json")).unwrap());
    let other = try_scan(&[&season()], data.path(), &["--sample", "8"]);
    assert_eq!(other.status.code(), Some(2));
    let said = String::from_utf8_lossy(&other.stderr);
    assert!(said.contains("a sample of one turn in 16, not 8"), "{said}");
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
