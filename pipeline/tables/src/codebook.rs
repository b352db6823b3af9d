//! The codebook: one row a variable of the tables, made from their descriptions, and of the other
//! files that leave the program.

use std::fmt::Write as _;

use hobble_terms::Table;

use crate::description::NEVER;
use crate::schema::describe;

/// How the codebook is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Comma-separated (RFC 4180), for a program.
    Csv,
    /// One Markdown table, for a document.
    Markdown,
}

/// Names of its columns.
const HEAD: [&str; 9] = [
    "table",
    "column",
    "type",
    "unit",
    "values",
    "null_means",
    "text",
    "schema",
    "definitions",
];

/// What the column `source` is.
const SOURCE: &str = "Archive file the row comes from; added by the name of the folder.";

/// A column of a file that is not a table: an answer, norms, keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Variable<'a> {
    /// What the file is called here, with its ending.
    pub file: &'a str,
    /// Name.
    pub name: &'a str,
    /// Type.
    pub column_type: &'a str,
    /// Unit; empty for none.
    pub unit: &'a str,
    /// What an empty cell or a null means; [`NEVER`] for a column without any.
    pub null: &'a str,
    /// What a value is.
    pub text: &'a str,
}

/// The codebook of all tables, and of other files behind them. The column `source`, which the
/// folder names add, is listed with each table.
pub fn codebook(format: Format, others: &[Variable<'_>]) -> String {
    let mut out = match format {
        Format::Csv => csv_line(&HEAD),
        Format::Markdown => {
            format!("{}| {} |\n", markdown_line(&HEAD), ["---"; 9].join(" | "))
        }
    };
    for table in Table::ALL {
        let table = describe(table);
        let versions = [table.schema.to_string(), table.definitions.to_string()];
        let mut row = |[name, column_type, unit, values, null, text]: [&str; 6]| {
            let [schema, definitions] = &versions;
            let name_of_table = table.table.name();
            let row = [
                name_of_table,
                name,
                column_type,
                unit,
                values,
                null,
                text,
                schema,
                definitions,
            ];
            out += &match format {
                Format::Csv => csv_line(&row),
                Format::Markdown => markdown_line(&row),
            };
        };
        let derived = table.derived.iter().map(|derived| &derived.column);
        for column in table.columns.iter().chain(derived) {
            row([
                column.name,
                column.column_type.name(),
                column.unit,
                &column.values.join("; "),
                column.null,
                &column.text,
            ]);
        }
        row(["source", "utf8", "", "", NEVER, SOURCE]);
    }
    let definitions = hobble_terms::DEFINITIONS.to_string();
    for other in others {
        let row = [
            other.file,
            other.name,
            other.column_type,
            other.unit,
            "",
            other.null,
            other.text,
            "",
            &definitions,
        ];
        out += &match format {
            Format::Csv => csv_line(&row),
            Format::Markdown => markdown_line(&row),
        };
    }
    out
}

fn csv_line(row: &[&str; 9]) -> String {
    let cells = row.each_ref().map(|cell| {
        if cell.contains([',', '"', '\n', '\r']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell.to_string()
        }
    });
    cells.join(",") + "\r\n"
}

fn markdown_line(row: &[&str; 9]) -> String {
    let mut line = String::from("|");
    for cell in row {
        let mut written = String::new();
        for c in cell.chars() {
            if matches!(c, '|' | '<' | '>' | '_' | '*' | '`') {
                written.push('\\');
            }
            written.push(c);
        }
        let _ = write!(line, " {written} |");
    }
    line + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_row_a_variable_in_both_formats() {
        let variables: usize = Table::ALL
            .iter()
            .map(|table| describe(*table).columns.len() + describe(*table).derived.len() + 1)
            .sum();
        assert_eq!(codebook(Format::Csv, &[]).lines().count(), variables + 1);
        let markdown = codebook(Format::Markdown, &[]);
        assert_eq!(markdown.lines().count(), variables + 2);
        for line in markdown.lines() {
            let bars = line.replace("\\|", "").matches('|').count();
            assert_eq!(bars, 10, "{line}");
        }
    }

    #[test]
    fn says_what_the_schema_says() {
        let csv = codebook(Format::Csv, &[]);
        assert!(csv.contains(&format!(
            "spells,turns,int16,turns,,never,Turns of the owner in the spell.,5,{}\r\n",
            hobble_terms::DEFINITIONS
        )));
        assert!(csv.contains("games,result,dictionary,,1-0; 0-1; 1/2-1/2; *,never,"));
    }
}
