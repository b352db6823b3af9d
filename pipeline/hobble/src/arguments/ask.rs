//! What `hobble ask` takes.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::inquiry::Inquiry;

/// Answer a question from the tables
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble ask restrained-piece-lost --data data
  hobble ask held-piece-lost --data data --k 1 --within 5
  hobble ask my-question.toml --data data --format csv --out answer.csv
  hobble ask restraint-by-band --data data --format parquet --out cells.parquet")]
pub struct Ask {
    #[command(flatten)]
    pub inquiry: Inquiry,
    /// How the answer is written
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// File to write to instead of the terminal
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
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
