//! What `hobble norms` takes.

use std::path::PathBuf;

use clap::Args;

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
    /// Safe squares at most for a piece to be held [default: as the question says]
    #[arg(long, value_name = "SQUARES")]
    pub k: Option<u8>,
    /// Moves within which the piece is lost: 3, 5, 10, 15 or 20 [default: as the question says]
    #[arg(long, value_name = "MOVES")]
    pub within: Option<u32>,
    /// File to write
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
}
