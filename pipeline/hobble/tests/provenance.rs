//! What the manifest says of where archives come from, and of the scan.

mod common;

use std::fs;
use std::path::Path;

use common::{hobble, repository, scan};
use serde_json::Value;

fn source(data: &Path) -> Value {
    let text = fs::read_to_string(data.join("manifest.json")).expect("a manifest");
    let manifest: Value = serde_json::from_str(&text).expect("JSON");
    manifest["sources"][0].clone()
}

#[test]
fn origin_licence_and_date_stand_in_the_manifest() {
    let data = tempfile::tempdir().unwrap();
    let season = repository("small-sample/season.pgn");
    let scan_with = |more: &[&str]| {
        scan(&[&season], data.path(), more);
        source(data.path())
    };
    let first = scan_with(&["--origin", "An invented club"]);
    assert_eq!(first["origin"], "An invented club");
    assert_eq!(first["licence"], Value::Null);
    assert_eq!(first["scanned"]["at"], "2031-05-03T09:00:00Z");
    assert_eq!(first["scanned"]["hobble"], env!("CARGO_PKG_VERSION"));
    if let Some(commit) = first["scanned"]["commit"].as_str() {
        assert!(commit.trim_end_matches("+changed").len() == 40, "{commit}");
    }
    // Given later, and kept by a scan that does not give it.
    let second = scan_with(&["--licence", "CC0-1.0"]);
    assert_eq!(second["origin"], "An invented club");
    assert_eq!(second["licence"], "CC0-1.0");
    assert_eq!(scan_with(&[]), second);
}

#[test]
fn joined_stripes_keep_origin_and_licence() {
    let folder = tempfile::tempdir().unwrap();
    let season = repository("small-sample/season.pgn");
    let [first, second, out] = ["0", "1", "out"].map(|name| folder.path().join(name));
    scan(&[&season], &first, &["--stripe", "0/2"]);
    let given = ["--stripe", "1/2", "--origin", "A club", "--licence", "none"];
    scan(&[&season], &second, &given);
    let mut joined = hobble();
    joined.arg("gather").args([&first, &second]);
    let joined = joined.arg("--out").arg(&out).output().unwrap();
    assert!(joined.status.success());
    assert_eq!(source(&out)["origin"], "A club");
    assert_eq!(source(&out)["licence"], "none");
}

#[test]
fn invalid_date_is_refused_in_one_line() {
    let data = tempfile::tempdir().unwrap();
    let refused = hobble()
        .env("SOURCE_DATE_EPOCH", "tomorrow")
        .arg("scan")
        .arg(repository("small-sample/season.pgn"))
        .arg("--out")
        .arg(data.path())
        .output()
        .unwrap();
    assert_eq!(refused.status.code(), Some(2));
    let said = String::from_utf8_lossy(&refused.stderr);
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.contains("SOURCE_DATE_EPOCH"), "{said}");
}
