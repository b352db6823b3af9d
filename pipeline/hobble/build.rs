//! Puts the commit into the program, where its history is at hand.

use std::path::Path;
use std::process::Command;

fn main() {
    // The crates, so that a changed file is noticed, and the place where commits are noted.
    println!("cargo:rerun-if-changed=..");
    if let Some(log) = git(&["rev-parse", "--git-path", "logs/HEAD"])
        && Path::new(&log).exists()
    {
        println!("cargo:rerun-if-changed={log}");
    }
    if let Some(commit) = commit() {
        println!("cargo:rustc-env=HOBBLE_COMMIT={commit}");
    }
}

/// The commit, with a mark where files were changed since; `None` outside of the project's own
/// history.
fn commit() -> Option<String> {
    let top = Path::new(&git(&["rev-parse", "--show-toplevel"])?).canonicalize();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .canonicalize();
    if top.ok()? != root.ok()? {
        return None;
    }
    let commit = git(&["rev-parse", "HEAD"])?;
    let changed = git(&["status", "--porcelain", "--untracked-files=no"])?;
    let mark = if changed.is_empty() { "" } else { "+changed" };
    Some(format!("{commit}{mark}"))
}

/// What git prints; `None` where it is missing or fails.
fn git(arguments: &[&str]) -> Option<String> {
    let done = Command::new("git").args(arguments).output().ok()?;
    let text = String::from_utf8(done.stdout).ok()?;
    done.status.success().then(|| text.trim().to_owned())
}
