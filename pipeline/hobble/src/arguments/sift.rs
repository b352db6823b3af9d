//! What `hobble sift` takes.

use std::path::PathBuf;

use clap::Args;

/// Try a grid of training claims on one half of the games, and ask the other half what passed
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble sift --data data --out sifted
  hobble sift my-grid.toml --data data --out sifted

Neither a player nor a game stands in both halves. In the folder are the league as page, text, CSV \
and JSON, and a file for each claim asked of the other half, which ask, page and handout take. How \
often that half was opened stands in a file beside the tables, and is said.

Asked of one folder of tables, which hobble gather makes of several: what parts of the tables hold does not
add up here, since which half a game stands in depends on all other games.")]
pub struct Sift {
    /// File of the grid [default: the one that comes with the program]
    #[arg(value_name = "GRID")]
    pub grid: Option<PathBuf>,
    /// Folder of the tables
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    /// Folder for the league and the claims
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// File in which openings of the locked half are written down
    /// [default: sift-openings.json beside the tables]
    #[arg(long, value_name = "FILE")]
    pub ledger: Option<PathBuf>,
}
