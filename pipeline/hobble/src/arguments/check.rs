//! What `hobble check` takes.

use std::path::PathBuf;

use clap::Args;

/// Count the tables again and say what reconciles
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble check --data data
  hobble check --data data --archive games.pgn.zst
  hobble check --data data --expect games=145716 --expect captures=2299689")]
pub struct Check {
    /// Folder of the tables
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    /// Archive to hash and count again from its text
    #[arg(long, value_name = "ARCHIVE")]
    pub archive: Vec<PathBuf>,
    /// A count published elsewhere, as games=145716
    #[arg(long, value_name = "NAME=COUNT")]
    pub expect: Vec<String>,
}
