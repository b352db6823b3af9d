//! The layouts of all tables, and which tables are written.

use hobble_terms::Table;
use parquet::errors::Result;

use crate::encode::Layout;
use crate::schema::describe;

/// Layouts of all tables.
pub struct Layouts {
    layouts: Vec<Layout>,
    wanted: Vec<Table>,
}

impl Layouts {
    /// Layouts of all tables, of which some are written.
    ///
    /// # Errors
    ///
    /// Where a column type has no place in Parquet.
    pub fn new(wanted: &[Table]) -> Result<Layouts> {
        let layout = |&table| Layout::new(describe(table));
        Ok(Layouts {
            layouts: Table::ALL.iter().map(layout).collect::<Result<_>>()?,
            wanted: wanted.to_vec(),
        })
    }

    /// Layout of a table.
    pub fn of(&self, table: Table) -> &Layout {
        &self.layouts[table as usize]
    }

    /// Whether a table is written.
    pub fn has(&self, table: Table) -> bool {
        self.wanted.contains(&table)
    }

    /// The tables that are written.
    pub fn wanted(&self) -> &[Table] {
        &self.wanted
    }
}
