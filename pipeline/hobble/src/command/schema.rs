//! `hobble schema`

use std::io::{Write as _, stdout};

use hobble_tables::schema::schema_file;

use crate::arguments::Schema;

/// Prints the schema file of a table.
pub fn run(arguments: &Schema) -> anyhow::Result<bool> {
    stdout().write_all(schema_file(arguments.table)?.as_bytes())?;
    Ok(true)
}
