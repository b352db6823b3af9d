//! What `hobble ask` takes.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use hobble_terms::manifest::Stripe;

use super::inquiry::Inquiry;

/// Answer a question from the tables
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble ask restrained-piece-lost --data data
  hobble ask held-piece-lost --data data --k 1 --within 5
  hobble ask my-question.toml --data data --format csv --out answer.csv
  hobble ask restraint-by-band --data data --format parquet --out cells.parquet

Counted on several machines, then added; the answer is the same, to the last digit:
  hobble ask queen-restrained --data data --stripe 0/2 --state one.state
  hobble ask queen-restrained --data data --stripe 1/2 --state two.state
  hobble ask --from one.state two.state

A state holds the question, the counts and the games that the answer may show; to answer from
states needs no tables. States of states can be written, with --from and --state.

The parts are counted twice for a question about a player: first which games are the player's, then
what is in them and in those of others. The sum of the first goes into each of the second:
  hobble ask own-habits --player 'Vey, Ada' --data data --stripe 0/2 --state one.state
  hobble ask own-habits --player 'Vey, Ada' --data data --stripe 1/2 --state two.state
  hobble ask --from one.state two.state --state games.state
  hobble ask own-habits --player 'Vey, Ada' --data data --stripe 0/2 --first games.state --state one.state
and so on, then hobble ask --from as above.")]
pub struct Ask {
    #[command(flatten)]
    pub inquiry: Inquiry,
    /// How the answer is written
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// File to write to instead of the terminal
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// File to write what is counted to, instead of an answer
    #[arg(long, value_name = "FILE", conflicts_with_all = ["out", "format", "partial"])]
    pub state: Option<PathBuf>,
    /// With --state: count only every N-th part of the tables, from part I on, as 0/4
    #[arg(long, value_name = "I/N", conflicts_with = "from")]
    pub stripe: Option<Stripe>,
    /// Of a question about a player, with --state: the sum of the states of the first count
    #[arg(
        long,
        value_name = "FILE",
        requires = "player",
        conflicts_with = "from"
    )]
    pub first: Option<PathBuf>,
    /// Print which files would be read for that, as paths in the folder; only its manifest is read
    #[arg(long, conflicts_with_all = ["from", "state", "out"])]
    pub list_files: bool,
}

/// How an answer is written.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Format {
    Text,
    Csv,
    Json,
    Markdown,
    Html,
    /// The long table of a report by rating band, with --out
    Parquet,
}
