//! A reader that has gone, as `head` goes, is not an error.

use std::io::pipe;
use std::process::Stdio;

mod common;

#[test]
fn a_sheet_is_written_though_its_name_is_not_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let season = common::repository("small-sample/season.pgn");
    common::scan(&[&season], &data, &[]);
    for (command, name) in [("handout", "sheet.html"), ("examples", "games.pgn")] {
        let (reader, writer) = pipe().expect("a pipe");
        drop(reader);
        let path = folder.path().join(name);
        let output = common::hobble()
            .args([command, "knight-restrained-by-pawn", "--data"])
            .arg(&data)
            .arg("--out")
            .arg(&path)
            .stdin(Stdio::null())
            .stdout(writer)
            .stderr(Stdio::piped())
            .spawn()
            .and_then(std::process::Child::wait_with_output)
            .expect("the program runs");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success() && said.is_empty(), "{said}");
        let size = path.metadata().map(|about| about.len());
        assert!(size.is_ok_and(|size| size > 1_000), "{command}");
    }
}
