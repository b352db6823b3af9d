//! `hobble norms`

use std::io::{Write as _, stdout};

use anyhow::{Context as _, bail};
use hobble_dataset::Dataset;
use hobble_player::Habits;
use hobble_questions::Asked;

use crate::arguments::Norms;
use crate::words::{counted, line, say_unfinished};

/// Writes a file of norms.
pub fn run(arguments: &Norms) -> anyhow::Result<bool> {
    let asked = Asked::load(&arguments.question)?;
    let Some(habits) = asked.of_type::<Habits>() else {
        bail!("{}: norms are for a question about a player", asked.name());
    };
    let habits = habits.with(&arguments.bounds.overrides())?;
    let dataset = Dataset::open(&arguments.data)?;
    let norms = hobble_player::Norms::of(&habits, &dataset)?;
    let path = &arguments.out;
    norms
        .write(path)
        .with_context(|| format!("{}: cannot be written", path.display()))?;
    say_unfinished(
        &dataset,
        &arguments.data,
        "the norms are of what was scanned so far",
    );
    let bytes = std::fs::metadata(path).map_or(0, |about| about.len());
    writeln!(
        stdout(),
        "{}: {} in {}, {}",
        line(&path.to_string_lossy()),
        counted(norms.sides(), "side"),
        counted(norms.cells() as u64, "cell"),
        counted(bytes, "byte")
    )?;
    Ok(true)
}
