//! The descriptions of the tables, and the schema files made from them.

use std::io;
use std::sync::OnceLock;

use hobble_terms::Table;
use serde::Serialize as _;
use serde_json::ser::Formatter;

use crate::description::TableDescription;
use crate::{decisions, exposure, games, moves, players, sides, skipped, spells, turns};

/// The description of a table.
pub fn describe(table: Table) -> &'static TableDescription {
    static ALL: OnceLock<[TableDescription; Table::COUNT]> = OnceLock::new();
    let all = ALL.get_or_init(|| {
        Table::ALL.map(|table| match table {
            Table::Games => games::description(),
            Table::Moves => moves::description(),
            Table::Spells => spells::description(),
            Table::Turns => turns::description(),
            Table::Decisions => decisions::description(),
            Table::Sides => sides::description(),
            Table::Players => players::description(),
            Table::Exposure => exposure::description(),
            Table::Skipped => skipped::description(),
        })
    });
    &all[table as usize]
}

/// The text of a table's schema file, `schemas/TABLE.json`.
///
/// # Errors
///
/// None in practice: the description holds nothing that JSON cannot.
pub fn schema_file(table: Table) -> serde_json::Result<String> {
    let mut text = Vec::new();
    let mut serializer = serde_json::Serializer::with_formatter(&mut text, Lines::default());
    describe(table).serialize(&mut serializer)?;
    text.push(b'\n');
    String::from_utf8(text).map_err(serde::ser::Error::custom)
}

/// JSON with a line for each member of the table and a line for each column.
#[derive(Default)]
struct Lines {
    depth: usize,
}

/// Members of the table stand at this depth, columns at the next one.
const TABLE_DEPTH: usize = 1;
const COLUMNS_DEPTH: usize = 2;

impl Lines {
    fn begin<W: ?Sized + io::Write>(&mut self, out: &mut W, bracket: &[u8]) -> io::Result<()> {
        self.depth += 1;
        out.write_all(bracket)
    }

    fn end<W: ?Sized + io::Write>(&mut self, out: &mut W, bracket: &[u8]) -> io::Result<()> {
        let lines = self.depth <= COLUMNS_DEPTH;
        self.depth -= 1;
        if lines {
            self.line(out)?;
        }
        out.write_all(bracket)
    }

    fn line<W: ?Sized + io::Write>(&self, out: &mut W) -> io::Result<()> {
        out.write_all(b"\n")?;
        (0..self.depth).try_for_each(|_| out.write_all(b"  "))
    }

    /// What stands before a member or element.
    fn item<W: ?Sized + io::Write>(&self, out: &mut W, first: bool) -> io::Result<()> {
        match (self.depth, first) {
            (TABLE_DEPTH | COLUMNS_DEPTH, first) => {
                if !first {
                    out.write_all(b",")?;
                }
                self.line(out)
            }
            (_, true) => Ok(()),
            (_, false) => out.write_all(b", "),
        }
    }
}

impl Formatter for Lines {
    fn begin_array<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.begin(out, b"[")
    }

    fn end_array<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.end(out, b"]")
    }

    fn begin_array_value<W: ?Sized + io::Write>(
        &mut self,
        out: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.item(out, first)
    }

    fn begin_object<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.begin(out, b"{")
    }

    fn end_object<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.end(out, b"}")
    }

    fn begin_object_key<W: ?Sized + io::Write>(
        &mut self,
        out: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.item(out, first)
    }

    fn begin_object_value<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        out.write_all(b": ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn schema_files_are_up_to_date() {
        for (table, file) in [
            (Table::Games, include_str!("../../../schemas/games.json")),
            (Table::Moves, include_str!("../../../schemas/moves.json")),
            (Table::Sides, include_str!("../../../schemas/sides.json")),
            (
                Table::Players,
                include_str!("../../../schemas/players.json"),
            ),
            (Table::Spells, include_str!("../../../schemas/spells.json")),
            (Table::Turns, include_str!("../../../schemas/turns.json")),
            (
                Table::Decisions,
                include_str!("../../../schemas/decisions.json"),
            ),
            (
                Table::Exposure,
                include_str!("../../../schemas/exposure.json"),
            ),
            (
                Table::Skipped,
                include_str!("../../../schemas/skipped.json"),
            ),
        ] {
            let made = schema_file(table).unwrap();
            assert_eq!(
                made, file,
                "run `hobble schema {table} > schemas/{table}.json`"
            );
        }
    }

    #[test]
    fn columns_are_named_and_described_once() {
        for table in Table::ALL {
            let description = describe(table);
            assert_eq!(description.table, table);
            let mut names: Vec<_> = description.columns.iter().map(|c| c.name).collect();
            names.sort_unstable();
            names.dedup();
            assert_eq!(names.len(), description.columns.len(), "{table}");
            for column in &description.columns {
                assert!(column.text.ends_with('.'), "{table}: {}", column.name);
                // The table says words for each place in a shared text.
                assert!(!column.text.contains('{'), "{table}: {}", column.name);
            }
        }
    }
}
