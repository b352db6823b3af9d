//! `hobble dictionary`

use std::io::{Write as _, stdout};

/// Prints the data dictionary.
pub fn run() -> anyhow::Result<bool> {
    stdout().write_all(hobble_tables::dictionary::dictionary().as_bytes())?;
    Ok(true)
}
