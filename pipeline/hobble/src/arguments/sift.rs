//! What `hobble sift` takes.

use std::path::PathBuf;

use clap::Args;
use hobble_terms::manifest::Stripe;

/// Try a grid of training claims on one half of the games, and ask the other half what passed
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble sift --data data --out sifted
  hobble sift my-grid.toml --data data --out sifted

Neither a player nor a game stands in both halves. In the folder are the league as page, text, CSV \
and JSON, and a file for each claim asked of the other half, which ask, page and handout take. How \
often that half was opened stands in a file beside the tables, and is said.

Counted on several machines, in shares of the parts or folder by folder; the league is the same, to the last \
digit. The parts are counted three times: which moves both halves have, what the half says in which claims \
are looked for, and what the locked half says. The sum of each count goes into the next:
  hobble sift --data data --stripe 0/2 --state one.state
  hobble sift --data data --stripe 1/2 --state two.state
  hobble sift --from one.state two.state --state moves.state
  hobble sift --data data --stripe 0/2 --first moves.state --state one.state
  hobble sift --data data --stripe 1/2 --first moves.state --state two.state
  hobble sift --from one.state two.state --state found.state
Before the third count the locked half is opened: once, which is written down as for a whole league:
  hobble sift --data data --first found.state --open opened.state
  hobble sift --data data --stripe 0/2 --first opened.state --state one.state
  hobble sift --data data --stripe 1/2 --first opened.state --state two.state
  hobble sift --from one.state two.state --out sifted
A share that is lost is counted again with the same opened.state, and nothing is opened a second time.")]
pub struct Sift {
    /// File of the grid [default: the one that comes with the program]
    #[arg(value_name = "GRID", conflicts_with = "from")]
    pub grid: Option<PathBuf>,
    /// Folder of the tables; given more than once, all of them together are sifted
    #[arg(
        long,
        value_name = "DIR",
        required_unless_present = "from",
        conflicts_with = "from"
    )]
    pub data: Vec<PathBuf>,
    /// Folder for the league and the claims
    #[arg(
        long,
        value_name = "DIR",
        required_unless_present_any = ["state", "open", "list_files"]
    )]
    pub out: Option<PathBuf>,
    /// File in which openings of the locked half are written down
    /// [default: sift-openings.json beside the tables]
    #[arg(long, value_name = "FILE", conflicts_with_all = ["from", "state"])]
    pub ledger: Option<PathBuf>,
    /// Files that --state wrote, added up in the place of the tables
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub from: Vec<PathBuf>,
    /// File to write what is counted to, instead of the league
    #[arg(long, value_name = "FILE", conflicts_with = "out")]
    pub state: Option<PathBuf>,
    /// With --state: count only every N-th part of the tables, from part I on, as 0/4
    #[arg(long, value_name = "I/N", conflicts_with = "from")]
    pub stripe: Option<Stripe>,
    /// Sum of the states of the count before; where the locked half is counted, the file that --open wrote
    #[arg(long, value_name = "FILE", conflicts_with = "from")]
    pub first: Option<PathBuf>,
    /// Open the locked half for the claims that were found, whose sum --first names: the opening is written
    /// down, and FILE is what counts of that half take as --first
    #[arg(
        long,
        value_name = "FILE",
        requires = "first",
        conflicts_with_all = ["out", "state", "stripe"]
    )]
    pub open: Option<PathBuf>,
    /// Print which files would be read for a count, as paths in the folder; only its manifest and the
    /// ledger are read
    #[arg(long, conflicts_with_all = ["from", "out", "state", "open"])]
    pub list_files: bool,
}
