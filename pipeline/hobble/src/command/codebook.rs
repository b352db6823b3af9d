//! `hobble codebook`

use std::io::{Write as _, stdout};

use hobble_tables::codebook::{Format, codebook};

use crate::arguments::{Codebook, CodebookFormat};

/// Prints the codebook.
pub fn run(arguments: &Codebook) -> anyhow::Result<bool> {
    let format = match arguments.format {
        CodebookFormat::Csv => Format::Csv,
        CodebookFormat::Markdown => Format::Markdown,
    };
    stdout().write_all(codebook(format).as_bytes())?;
    Ok(true)
}
