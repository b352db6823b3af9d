//! What `hobble position` takes.

use clap::Args;

/// Print reach and safe squares of every unit in positions given as FEN on standard input
#[derive(Debug, Args)]
pub struct Position {
    /// Castling by the rules of Chess960
    #[arg(long)]
    pub chess960: bool,
}
