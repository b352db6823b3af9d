//! Stripes of one archive, joined, are the tables of one undivided scan, file for file.

mod common;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use common::{assert_refused, file, files, gather, scan, season};

const SMALL: [&str; 4] = ["--block-kib", "16", "--part-blocks", "2"];

fn scan_stripes(archive: &Path, folder: &Path, of: usize) -> Vec<PathBuf> {
    (0..of)
        .map(|index| {
            let out = folder.join(format!("{index}-of-{of}"));
            let stripe = format!("{index}/{of}");
            let more = [&SMALL[..], &["--stripe", &stripe]].concat();
            scan(&[archive], &out, &more);
            out
        })
        .collect()
}

#[test]
fn stripes_are_the_files_of_one_scan() {
    let folder = tempfile::tempdir().expect("a folder");
    let empty = file(folder.path(), "empty.pgn", "");
    for archive in [season(), empty] {
        let whole = folder.path().join("whole");
        scan(&[&archive], &whole, &SMALL);
        let expected = files(&whole);
        for of in [1, 2, 3, 40] {
            let stripes = scan_stripes(&archive, folder.path(), of);
            let out = folder.path().join("joined");
            for _ in 0..2 {
                // The second time everything is in its place.
                assert!(gather(&stripes, &out).status.success());
                assert!(files(&out) == expected, "{} in {of}", archive.display());
            }
            for done in stripes.iter().chain([&out]) {
                fs::remove_dir_all(done).expect("removed");
            }
        }
        fs::remove_dir_all(whole).expect("removed");
    }
}

/// The machines of a cluster may each read a copy of an archive, with a time of its own.
#[test]
fn copies_of_an_archive_join_whenever_they_were_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let archive = folder.path().join("games.pgn");
    fs::copy(season(), &archive).expect("copied");
    let whole = folder.path().join("whole");
    scan(&[&archive], &whole, &SMALL);
    let two = scan_stripes(&archive, folder.path(), 2);
    let file = fs::File::options().append(true).open(&archive);
    file.expect("opened")
        .set_modified(SystemTime::UNIX_EPOCH)
        .expect("another time");
    let later = folder.path().join("later");
    let options = [&SMALL[..], &["--stripe", "1/2"]].concat();
    scan(&[&archive], &later, &options);

    let manifest = |folder: &Path| {
        let mut manifest = common::manifest(folder);
        let source = manifest["sources"][0].as_object_mut().expect("a source");
        (source.remove("modified"), manifest)
    };
    let (time, undivided) = manifest(&whole);
    assert!(time.is_some());
    let out = folder.path().join("joined");
    let joins = [
        [two[0].clone(), later],
        // Into what is joined already, and with one time throughout.
        [two[0].clone(), two[1].clone()],
    ];
    for folders in joins {
        let output = gather(&folders, &out);
        assert!(output.status.success(), "{output:?}");
        assert_eq!(manifest(&out), (None, undivided.clone()));
    }
    // A scan that finds no time hashes the archive, and leaves the tables as they are.
    scan(&[&archive], &out, &SMALL);
    assert_eq!(manifest(&out), (None, undivided));
}

#[test]
fn archives_of_the_same_bytes_are_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name);
    let folders = ["one", "two"].map(|name| {
        let archive = at(&format!("{name}.pgn"));
        fs::copy(season(), &archive).expect("copied");
        scan(&[&archive], &at(name), &SMALL);
        at(name)
    });
    let output = gather(&folders, &at("joined"));
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    let words = "two.pgn: the same bytes as ";
    assert!(
        said.contains(words) && said.contains("count twice"),
        "{said}"
    );
    assert!(at("joined/manifest.json").exists());
}

#[test]
fn stripes_that_do_not_fit_are_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name);
    let archive = at("games.pgn");
    fs::copy(season(), &archive).expect("copied");
    let two = scan_stripes(&archive, folder.path(), 2);
    let three = scan_stripes(&archive, folder.path(), 3);
    let out = at("joined");
    assert_refused(&gather(&two[..1], &out), "stripe 1/2 is missing");
    let twice = [two[0].clone(), two[0].clone()];
    assert_refused(&gather(&twice, &out), "stripe 0/2 is given twice");
    let mixed = [two[0].clone(), three[1].clone()];
    assert_refused(&gather(&mixed, &out), "into 2 stripes and into 3");
    assert_refused(&gather(&[at("nothing")], &out), "holds no manifest.json");

    let other = at("other");
    let options = ["--block-kib", "16", "--part-blocks", "3", "--stripe", "1/2"];
    scan(&[&archive], &other, &options);
    assert_refused(&gather(&[two[0].clone(), other], &out), "other parameters");

    let mut text = fs::read(&archive).expect("read");
    text.extend_from_slice(b"\n[Event \"one more\"]\n\n1. e4 *\n");
    fs::write(&archive, text).expect("written");
    let changed = at("changed");
    let options = [&SMALL[..], &["--stripe", "1/2"]].concat();
    scan(&[&archive], &changed, &options);
    assert_refused(
        &gather(&[two[0].clone(), changed], &out),
        "is not the archive of that name",
    );

    let parts = two[1].join("moves/source=games.pgn");
    let part = fs::read_dir(parts).expect("a folder").next();
    let part = part.expect("a part").expect("an entry").path();
    fs::write(&part, "short").expect("written");
    assert_refused(&gather(&two, &out), "its manifest says");
    assert!(!out.join("manifest.json").exists());
}
