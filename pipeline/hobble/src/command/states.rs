//! Questions asked by states: what was counted of some parts of the tables, written to files and added.

use std::io::{Write as _, stdout};
use std::path::{Path, PathBuf};

use anyhow::Context as _;
use hobble_conditions::counted::About;
use hobble_conditions::{AskError, Given};
use hobble_dataset::Dataset;
use hobble_questions::{Answered, Asked, Counts};
use hobble_terms::manifest::Stripe;

use crate::arguments::Inquiry;
use crate::words::{counted, line, say, say_unfinished};

/// What it means for an answer that a scan is not complete.
pub const UNFINISHED: &str = "the figures are of what was scanned so far";

/// Counts folders of tables, or a share of the parts of each, and adds them up.
pub fn of_folders(
    asked: &Asked,
    inquiry: &Inquiry,
    given: &Given,
    share: Option<Stripe>,
) -> anyhow::Result<Counts> {
    let mut sum = None;
    for folder in &inquiry.data {
        let dataset = Dataset::open(folder)?;
        let counts = asked.count(&dataset, given, share)?;
        let is_last = !counts.is_first();
        add(&mut sum, counts, folder)?;
        if is_last {
            say_unfinished(&dataset, folder, UNFINISHED);
        }
    }
    sum.context("no tables are named")
}

/// The answer to folders of tables together.
pub fn of_all(asked: &Asked, inquiry: &Inquiry, mut given: Given) -> anyhow::Result<Answered> {
    let mut counts = of_folders(asked, inquiry, &given, None)?;
    if counts.is_first() {
        given.first = Some(counts.into_state());
        counts = of_folders(asked, inquiry, &given, None)?;
    }
    answer(&counts, inquiry)
}

/// Reads states and adds them up.
pub fn of_files(inquiry: &Inquiry) -> anyhow::Result<Counts> {
    let mut sum = None;
    for file in &inquiry.from {
        add(&mut sum, Counts::read(file)?, file)?;
    }
    sum.context("no states are named")
}

fn add(sum: &mut Option<Counts>, more: Counts, from: &Path) -> anyhow::Result<()> {
    match sum {
        None => *sum = Some(more),
        Some(sum) => sum.add(more).with_context(|| from.display().to_string())?,
    }
    Ok(())
}

/// The answer from what was counted.
pub fn answer(counts: &Counts, inquiry: &Inquiry) -> anyhow::Result<Answered> {
    let (answered, dataset) = counts.answer(inquiry.partial)?;
    if dataset.partial() {
        let games = dataset.summary().kept;
        say(&format!(
            "not all parts are counted; the figures are of {}",
            counted(games, "game")
        ));
    }
    Ok(answered)
}

/// Writes a state, and says how large it is.
pub fn write(counts: &Counts, path: &Path) -> anyhow::Result<bool> {
    counts.write(path)?;
    say_written(path, counts.about())
}

/// Says how large a state's file is.
pub fn say_written(path: &Path, about: &About) -> anyhow::Result<bool> {
    let bytes = std::fs::metadata(path).map_or(0, |about| about.len());
    let mut out = stdout();
    writeln!(
        out,
        "{}: {} counted, {}",
        line(&path.to_string_lossy()),
        counted(about.parts(), "part"),
        counted(bytes, "byte")
    )?;
    Ok(true)
}

/// Prints the files that are read for a count, as paths in their folders.
pub fn list_files(
    folders: &[PathBuf],
    read: impl Fn(&Dataset) -> Result<Vec<PathBuf>, AskError>,
) -> anyhow::Result<bool> {
    let mut out = stdout().lock();
    for folder in folders {
        for path in read(&Dataset::open(folder)?)? {
            writeln!(out, "{}", line(&path.to_string_lossy()))?;
        }
    }
    Ok(true)
}
