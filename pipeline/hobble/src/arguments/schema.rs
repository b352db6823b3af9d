//! What `hobble schema` takes: tables and sorts of question by name.

use clap::Args;
use hobble_questions::{SORTS, Sorted};
use hobble_terms::Table;

/// Print the schema file of a table or of a sort of question file, or the tables as SQL views
#[derive(Debug, Args)]
#[command(after_help = "Example:
  hobble schema spells > schemas/spells.json
  hobble schema views > schemas/views.sql
  hobble schema claim > schemas/claim.schema.json")]
pub struct Schema {
    /// Table, sort of question, sift for a grid of claims, or views for the tables in SQL with the columns that follow
    /// from others
    #[arg(value_name = "NAME", value_parser = schema_of)]
    pub of: SchemaOf,
}

/// What a schema is of.
#[derive(Clone, Copy, Debug)]
pub enum SchemaOf {
    /// A table.
    Table(Table),
    /// Files of a sort of question.
    Sort(&'static Sorted),
    /// Grids of claims.
    Grid,
    /// The tables in SQL.
    Views,
}

/// Name of the schema of a grid of claims.
const GRID: &str = "sift";

/// Name of the views.
const VIEWS: &str = "views";

/// What the name of a sort's schema ends in where a table has the sort's name.
const OF_SORT: &str = ".schema";

/// A table or a sort of question by its name. A table comes before a sort of the same name, which
/// is asked for as its file is named: `sides.schema`.
fn schema_of(name: &str) -> Result<SchemaOf, String> {
    let table = Table::from_name(name).map(SchemaOf::Table);
    let sort = Sorted::about(name.strip_suffix(OF_SORT).unwrap_or(name)).map(SchemaOf::Sort);
    let grid = (name == GRID).then_some(SchemaOf::Grid);
    let views = (name == VIEWS).then_some(SchemaOf::Views);
    table.or(sort).or(grid).or(views).ok_or_else(|| {
        let tables = Table::ALL.into_iter().map(Table::name);
        let sorts = SORTS.iter().map(|sort| match Table::from_name(sort.about) {
            Some(table) => format!("{table}{OF_SORT}"),
            None => sort.about.to_owned(),
        });
        let names = tables.map(str::to_owned).chain(sorts);
        let names = names.chain([GRID.to_owned(), VIEWS.to_owned()]);
        let names = names.collect::<Vec<_>>().join(", ");
        format!("unknown table or sort of question; there are {names}")
    })
}
