//! The tables with the columns that follow from others, as SQL views.

use std::fmt::Write as _;

use hobble_terms::Table;

use crate::description::ColumnType;
use crate::schema::describe;

/// The views, for DuckDB; what to change for Spark stands above them.
pub fn views() -> String {
    let mut text = String::from(
        "-- Tables with the columns that follow from others and are not in their files. Made from the\n\
         -- schemas (`hobble schema views`); do not edit.\n\
         --\n\
         -- For DuckDB, in the folder of the tables: duckdb -init views.sql\n\
         -- For Spark write parquet.`spells` for read_parquet('spells/*/*.parquet', hive_partitioning = true),\n\
         -- and so for games.\n",
    );
    for table in Table::ALL {
        let derived = &describe(table).derived;
        if derived.is_empty() {
            continue;
        }
        let _ = write!(
            text,
            "\nCREATE OR REPLACE VIEW {table} AS\nSELECT\n  {table}.*"
        );
        for derived in derived {
            let value = derived.is.sql(table.name());
            let value = match sql_type(derived.column.column_type) {
                Some(number) => format!("CAST({value} AS {number})"),
                None => value,
            };
            let _ = write!(text, ",\n  {value} AS {}", derived.column.name);
        }
        let _ = writeln!(
            text,
            "\nFROM {} AS {table}\nJOIN {} AS games USING (source, game);",
            files(table),
            files(Table::Games)
        );
    }
    text
}

fn files(table: Table) -> String {
    format!("read_parquet('{table}/*/*.parquet', hive_partitioning = true)")
}

/// The type of a column of numbers; SQL would widen a sum.
fn sql_type(of: ColumnType) -> Option<&'static str> {
    match of {
        ColumnType::Int8 => Some("TINYINT"),
        ColumnType::Int16 => Some("SMALLINT"),
        ColumnType::Int32 => Some("INTEGER"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn views_are_up_to_date() {
        let file = include_str!("../../../schemas/views.sql");
        assert_eq!(
            views(),
            file,
            "run `hobble schema views > schemas/views.sql`"
        );
    }
}
