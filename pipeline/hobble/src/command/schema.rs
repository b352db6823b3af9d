//! `hobble schema`

use std::io::{Write as _, stdout};

use hobble_tables::schema::schema_file;
use hobble_tables::views::views;

use crate::arguments::{Schema, SchemaOf};

/// Prints the schema file of a table or of a sort of question, or the views.
pub fn run(arguments: &Schema) -> anyhow::Result<bool> {
    let text = match arguments.of {
        SchemaOf::Table(table) => schema_file(table)?,
        SchemaOf::Sort(sort) => sort.schema(),
        SchemaOf::Grid => format!("{:#}\n", hobble_sift::grid::schema()),
        SchemaOf::Views => views(),
    };
    stdout().write_all(text.as_bytes())?;
    Ok(true)
}
