//! `hobble completions`

use std::io::{Write as _, stdout};

use clap::CommandFactory as _;

use crate::arguments::{Arguments, Completions};

/// Prints what a shell needs to complete the command line.
pub fn run(arguments: &Completions) -> anyhow::Result<bool> {
    let mut text = Vec::new();
    clap_complete::generate(
        arguments.shell,
        &mut Arguments::command(),
        "hobble",
        &mut text,
    );
    stdout().lock().write_all(&text)?;
    Ok(true)
}
