//! What `hobble norms` takes.

use std::path::PathBuf;

use clap::Args;

use super::inquiry::Bounds;

/// Write what is counted of all players of an archive into one small file, to compare a player with
/// on another machine
#[derive(Debug, Args)]
#[command(after_help = "Example:
  hobble norms --data reference --out norms.parquet
  hobble page own-habits --data mine --player \"Orla Windlass\" --peers norms.parquet --out habits.html

The file holds counts by rating band, time class, colour and fold of games, none of single games or
players.")]
pub struct Norms {
    /// A question about a player: `own-habits`, or a question file; the norms serve questions with
    /// the same k, within and long
    #[arg(default_value = "own-habits")]
    pub question: String,
    /// Folder of the tables
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    #[command(flatten)]
    pub bounds: Bounds,
    /// File to write
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
}
