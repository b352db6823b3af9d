//! The machine-readable description of each table, and the data dictionary made from it.
//!
//! The files in `schemas/` are part of the program: rows are written by them, and a column
//! they do not name cannot be written.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::OnceLock;

use arrow_schema::DataType;
use hobble_terms::Table;
use serde::{Deserialize, Serialize};

/// The text of a table's schema file.
pub const fn source(table: Table) -> &'static str {
    match table {
        Table::Games => include_str!("../../../schemas/games.json"),
        Table::Moves => include_str!("../../../schemas/moves.json"),
        Table::Spells => include_str!("../../../schemas/spells.json"),
        Table::Exposure => include_str!("../../../schemas/exposure.json"),
        Table::Skipped => include_str!("../../../schemas/skipped.json"),
    }
}

/// The description of a table.
///
/// # Panics
///
/// Where a schema file built into the program is broken, which a test rules out.
pub fn description(table: Table) -> &'static TableSchema {
    static ALL: OnceLock<Vec<TableSchema>> = OnceLock::new();
    let all = ALL.get_or_init(|| {
        Table::ALL
            .iter()
            .map(|&table| match serde_json::from_str(source(table)) {
                Ok(schema) => schema,
                Err(error) => panic!("schemas/{table}.json: {error}"),
            })
            .collect()
    });
    &all[table as usize]
}

/// Versions of the columns of all tables.
pub fn versions() -> BTreeMap<Table, u32> {
    let version = |table| (table, description(table).schema);
    Table::ALL.into_iter().map(version).collect()
}

/// Description of a table, as in its schema file.
#[derive(Clone, Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct TableSchema {
    /// Name of the table.
    pub table: String,
    /// Version of the columns.
    pub schema: u32,
    /// Version of the definitions.
    pub definitions: u32,
    /// What a row is.
    pub text: String,
    /// What names a row.
    pub row: String,
    /// The columns in order.
    pub columns: Vec<ColumnSchema>,
}

/// Description of a column.
#[derive(Clone, Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct ColumnSchema {
    /// Name.
    pub name: String,
    /// Type.
    #[serde(rename = "type")]
    pub kind: ColumnType,
    /// Unit of the value; empty for none.
    pub unit: String,
    /// What a null means; `never` where there is none.
    pub null: String,
    /// What the value is.
    pub text: String,
    /// The only values there are.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub values: Vec<String>,
}

/// Type of a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)]
pub enum ColumnType {
    Uint8,
    Uint16,
    Uint32,
    Uint64,
    Int16,
    Float32,
    Boolean,
    Utf8,
}

impl ColumnType {
    /// Name in the schema files.
    pub const fn name(self) -> &'static str {
        match self {
            ColumnType::Uint8 => "uint8",
            ColumnType::Uint16 => "uint16",
            ColumnType::Uint32 => "uint32",
            ColumnType::Uint64 => "uint64",
            ColumnType::Int16 => "int16",
            ColumnType::Float32 => "float32",
            ColumnType::Boolean => "boolean",
            ColumnType::Utf8 => "utf8",
        }
    }
}

impl ColumnSchema {
    /// Whether a value may be missing.
    pub fn is_nullable(&self) -> bool {
        self.null != "never"
    }

    /// Whether the column is of an Arrow type.
    pub fn holds(&self, data: &DataType) -> bool {
        matches!(
            (self.kind, data),
            (ColumnType::Utf8, DataType::Utf8)
                | (ColumnType::Uint8, DataType::UInt8)
                | (ColumnType::Uint16, DataType::UInt16)
                | (ColumnType::Uint32, DataType::UInt32)
                | (ColumnType::Uint64, DataType::UInt64)
                | (ColumnType::Int16, DataType::Int16)
                | (ColumnType::Float32, DataType::Float32)
                | (ColumnType::Boolean, DataType::Boolean)
        )
    }
}

/// The data dictionary of all tables, as Markdown.
pub fn dictionary() -> String {
    let mut text = String::from(
        "# Data dictionary\n\n\
         Made from the schema files beside this page (`hobble dictionary`); do not edit.\n\
         The words are explained in [definitions.md](definitions.md).\n\n\
         Every file also carries the key-value pairs `hobble.definitions`, `hobble.schema` and\n\
         `hobble.version`. The folder names add the column `source`, the archive file a row\n\
         comes from.\n",
    );
    for table in Table::ALL {
        let schema = description(table);
        let _ = write!(
            text,
            "\n## {}\n\n{} A row is named by: {}. Schema version {}, definitions version {}.\n\n\
             | column | type | unit | null means | text |\n| --- | --- | --- | --- | --- |\n",
            schema.table, schema.text, schema.row, schema.schema, schema.definitions
        );
        for column in &schema.columns {
            let values = if column.values.is_empty() {
                String::new()
            } else {
                format!(" One of: `{}`.", column.values.join("`, `"))
            };
            let _ = writeln!(
                text,
                "| `{}` | {} | {} | {} | {}{} |",
                column.name,
                column.kind.name(),
                column.unit,
                column.null,
                column.text,
                values
            );
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn schema_files_agree_with_the_code() {
        for table in Table::ALL {
            let schema = description(table);
            assert_eq!(schema.table, table.name());
            assert_eq!(schema.definitions, hobble_terms::DEFINITIONS);
            let mut names: Vec<_> = schema.columns.iter().map(|c| &c.name).collect();
            names.sort();
            names.dedup();
            assert_eq!(names.len(), schema.columns.len(), "a column stands twice");
            for column in &schema.columns {
                assert!(!column.text.is_empty() && !column.null.is_empty());
            }
        }
    }

    #[test]
    fn dictionary_page_is_up_to_date() {
        let page = include_str!("../../../schemas/dictionary.md");
        assert_eq!(
            page,
            dictionary(),
            "run `hobble dictionary > schemas/dictionary.md`"
        );
    }
}
