//! `hobble repeats`

use std::io::{Write as _, stdout};

use hobble_tables::repeats::find;

use crate::arguments::FindRepeats;
use crate::words::grouped;

/// Finds the repeats among files of keys and prints how many each archive has.
pub fn run(arguments: &FindRepeats) -> anyhow::Result<bool> {
    let found = find(&arguments.files, &arguments.out)?;
    let mut out = stdout().lock();
    for one in &found {
        writeln!(
            out,
            "{:>14} games {:>14} repeats  {}",
            grouped(one.games),
            grouped(one.repeats),
            one.list.display()
        )?;
    }
    Ok(true)
}
