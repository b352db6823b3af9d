//! What `hobble keys` and `hobble repeats` take.

use std::num::{NonZeroU64, NonZeroUsize};
use std::path::PathBuf;

use clap::Args;

use super::scan::CutUp;

/// Write the keys of an archive's games, by which `hobble repeats` finds repeats among archives
#[derive(Debug, Args)]
#[command(
    after_help = "Example, of two archives that are scanned on different machines:
  hobble keys a.pgn --out keys
  hobble keys b.pgn --out keys
  hobble repeats keys/a.pgn.keys.parquet keys/b.pgn.keys.parquet --out lists
  hobble scan a.pgn --out tables-a --repeats-list lists/a.pgn.csv
  hobble scan b.pgn --out tables-b --repeats-list lists/b.pgn.csv
  hobble gather tables-a tables-b --out data

A scan that sees all archives finds repeats by itself."
)]
pub struct Keys {
    /// Archive: .pgn, .pgn.zst, .pgn.gz, .pgn.bz2, or - for standard input
    #[arg(value_name = "ARCHIVE")]
    pub archive: PathBuf,
    /// Folder for the files of keys
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// What the tables will call the archive [default: the name of its file]
    #[arg(long, value_name = "NAME")]
    pub source: Option<String>,
    /// Files to deal the keys out to: repeats are found in each share alone, with that much less
    /// memory
    #[arg(long, value_name = "N", default_value_t = NonZeroU64::MIN)]
    pub shares: NonZeroU64,
    /// Threads that read games [default: one for each core]
    #[arg(long, value_name = "N")]
    pub threads: Option<NonZeroUsize>,
    #[command(flatten)]
    pub cut: CutUp,
}

/// Find the games that repeat another one among the keys of archives that are scanned apart
#[derive(Debug, Args)]
pub struct FindRepeats {
    /// Files of keys, in the order of the archives: the first of several same games stays. Those
    /// of one archive's stripes stand side by side
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Folder for the lists, one for each file: SOURCE.csv
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
}
