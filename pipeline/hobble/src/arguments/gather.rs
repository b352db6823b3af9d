//! What `hobble gather` takes.

use std::path::PathBuf;

use clap::Args;

/// Join tables that were scanned apart, stripes of one archive or different archives
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble scan games.pgn.zst --out stripe-0 --stripe 0/2
  hobble scan games.pgn.zst --out stripe-1 --stripe 1/2
  hobble gather stripe-0 stripe-1 --out data

The files of the tables are moved, and the manifest is written last. A call that was
interrupted is finished by the same call.")]
pub struct Gather {
    /// Folders of tables that were scanned apart
    #[arg(required = true, value_name = "DIR")]
    pub folders: Vec<PathBuf>,
    /// Folder for the joined tables
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Write only the manifest: the tables lie elsewhere, in their places already
    #[arg(long)]
    pub manifest_only: bool,
}
