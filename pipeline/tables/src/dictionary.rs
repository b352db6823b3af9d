//! The data dictionary of all tables.

use std::fmt::Write as _;

use hobble_terms::Table;

use crate::description::ColumnDescription;
use crate::schema::describe;

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
        let table = describe(table);
        let _ = write!(
            text,
            "\n## {}\n\n{} A row is named by: {}. Schema version {}, definitions version {}.\n\n\
             | column | type | unit | null means | text |\n| --- | --- | --- | --- | --- |\n",
            table.table, table.text, table.row, table.schema, table.definitions
        );
        for column in &table.columns {
            let values = if column.values.is_empty() {
                String::new()
            } else {
                format!(" One of: `{}`.", column.values.join("`, `"))
            };
            let _ = writeln!(text, "{}{values} |", line(column));
        }
        if table.derived.is_empty() {
            continue;
        }
        text += "\nNot in the files, since they follow from others; the views in [views.sql](views.sql) have them:\n\n\
                 | column | type | unit | null means | text | is |\n| --- | --- | --- | --- | --- | --- |\n";
        for derived in &table.derived {
            let is = derived.is.sql("row");
            let _ = writeln!(text, "{} | `{is}` |", line(&derived.column));
        }
    }
    text
}

/// What is said of every column; more may follow in its line.
fn line(column: &ColumnDescription) -> String {
    format!(
        "| `{}` | {} | {} | {} | {}",
        column.name,
        column.column_type.name(),
        column.unit,
        column.null,
        column.text,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

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
