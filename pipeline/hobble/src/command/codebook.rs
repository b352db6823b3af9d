//! `hobble codebook`

use std::io::{Write as _, stdout};

use hobble_questions::SORTS;
use hobble_report::{ColumnText, Reported as _};
use hobble_sift::answer::League;
use hobble_tables::codebook::{Format, Variable, codebook};
use hobble_tables::repeats;

use crate::arguments::{Codebook, CodebookFormat};

/// Prints the codebook: of the tables, and of every other CSV and Parquet file the program writes.
pub fn run(arguments: &Codebook) -> anyhow::Result<bool> {
    let format = match arguments.format {
        CodebookFormat::Csv => Format::Csv,
        CodebookFormat::Markdown => Format::Markdown,
    };
    let mut files: Vec<(String, Vec<ColumnText>)> = Vec::new();
    for sort in SORTS {
        // The table of the name is another thing.
        files.push((format!("{}.csv", sort.about), sort.columns()));
    }
    files.push(("league.csv".to_owned(), League::columns()));
    files.push(("norms.parquet".to_owned(), hobble_player::norms::texts()));
    let of_files = files.iter().flat_map(|(file, columns)| {
        columns.iter().map(|column| Variable {
            file,
            name: &column.name,
            column_type: column.column_type,
            unit: column.unit,
            null: column.empty,
            text: &column.text,
        })
    });
    let variables: Vec<Variable<'_>> = of_files.chain(repeats::VARIABLES).collect();
    stdout().write_all(codebook(format, &variables).as_bytes())?;
    Ok(true)
}
