//! States of the season's parts, counted by the program.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;
use std::sync::LazyLock;

use super::{hobble, scan, season, sorted};

/// Small blocks, so that the season has a dozen parts.
pub const SMALL: [&str; 4] = ["--block-kib", "16", "--part-blocks", "2"];

/// Stripes in which the season is counted.
pub const STRIPES: usize = 4;

/// The season scanned at once, in a folder that the next run of the same tests takes: nothing that is
/// static is dropped, and a temporary folder would stay.
pub static TABLES: LazyLock<PathBuf> = LazyLock::new(|| {
    let name = concat!(env!("CARGO_CRATE_NAME"), "_tables");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    if folder.exists() {
        fs::remove_dir_all(&folder).expect("a folder of an earlier run");
    }
    scan(&[&season()], &folder, &SMALL);
    let parts = sorted(&folder.join("turns/source=season.pgn"));
    assert!(parts.len() >= 2 * STRIPES, "{} parts", parts.len());
    folder
});

/// The questions that come with the program, but for those about one player.
pub fn questions() -> Vec<String> {
    let listed = hobble()
        .arg("questions")
        .output()
        .expect("the program runs");
    let listed = String::from_utf8(listed.stdout).expect("text");
    let words = listed.lines().map(|line| line.split_whitespace().collect());
    let asked = words.filter(|words: &Vec<&str>| words[1] != "player");
    let names: Vec<String> = asked.map(|words| words[0].to_owned()).collect();
    assert!(names.len() >= 10, "{names:?}");
    names
}

pub fn ask(arguments: &[&str], paths: &[PathBuf]) -> Output {
    let mut command = hobble();
    let output = command.arg("ask").args(arguments).args(paths).output();
    output.expect("the program runs")
}

pub fn well(output: Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    String::from_utf8(output.stdout).expect("text")
}

/// The answer from tables as JSON.
pub fn whole(question: &str, data: &Path) -> String {
    answered(&[question], data)
}

/// The same, to a question with options.
pub fn answered(asked: &[&str], data: &Path) -> String {
    let data = data.to_str().expect("a path");
    let more = ["--data", data, "--format", "json"];
    well(ask(&[asked, &more].concat(), &[]))
}

/// The answer from states as JSON.
pub fn added(states: &[PathBuf]) -> String {
    well(ask(&["--format", "json", "--from"], states))
}

/// Counts a folder, or a share of its parts.
pub fn state(question: &str, data: &Path, stripe: Option<&str>, to: &Path) -> PathBuf {
    counted(&[question], data, stripe, to)
}

/// The same, for a question with options.
pub fn counted(asked: &[&str], data: &Path, stripe: Option<&str>, to: &Path) -> PathBuf {
    let data = data.to_str().expect("a path");
    let mut arguments = [asked, &["--data", data]].concat();
    arguments.extend(stripe.into_iter().flat_map(|stripe| ["--stripe", stripe]));
    arguments.push("--state");
    let said = well(ask(&arguments, &[to.to_owned()]));
    assert!(said.contains(" counted, "), "{said}");
    to.to_owned()
}

/// The states of all stripes of a folder.
pub fn stripes(question: &str, data: &Path, to: &Path) -> Vec<PathBuf> {
    stripes_of(&[question], data, to)
}

/// The same, for a question with options.
pub fn stripes_of(asked: &[&str], data: &Path, to: &Path) -> Vec<PathBuf> {
    let of_one = |index| {
        let path = to.join(format!("{index}.state"));
        counted(asked, data, Some(&format!("{index}/{STRIPES}")), &path)
    };
    (0..STRIPES).map(of_one).collect()
}

/// The sum of states, as a state.
pub fn sum(states: &[PathBuf], to: &Path) -> PathBuf {
    let path = to.to_str().expect("a path");
    well(ask(&["--state", path, "--from"], states));
    to.to_owned()
}

/// Copies the files that are read for a share, and the manifest.
pub fn copy_share(asked: &[&str], data: &Path, stripe: &str, to: &Path) {
    let of_share = ["--data", data.to_str().expect("a path"), "--stripe", stripe];
    let listed = well(ask(&[asked, &of_share, &["--list-files"]].concat(), &[]));
    for name in listed.lines().chain(["manifest.json"]) {
        let copy = to.join(name);
        fs::create_dir_all(copy.parent().expect("a folder")).expect("folder");
        fs::copy(data.join(name), copy).expect("copied");
    }
}
