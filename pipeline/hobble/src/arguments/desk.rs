//! What `hobble desk` takes.

use std::path::PathBuf;

use clap::Args;

/// Open a local web page from which everything can be done: read games, open them, ask questions,
/// collect positions
#[derive(Debug, Args)]
#[command(after_help = "Example:
  hobble desk --data data

It prints an address: open it in a browser on this computer. Nothing leaves the computer, nobody else \
can reach the page, and files outside the data folder are neither read nor written. Ctrl-C ends it; \
a scan that runs is stopped then, and can go on later.")]
pub struct Desk {
    /// Folder of the tables; made where it is not there
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    /// Another folder whose archives may be read where they are
    #[arg(long, value_name = "DIR")]
    pub archives: Option<PathBuf>,
    /// Port to listen on [default: any that is free]
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    pub port: u16,
    /// Most mebibytes that are copied into the folder at a time
    #[arg(long, value_name = "MIB", default_value_t = 4096, value_parser = clap::value_parser!(u32).range(1..))]
    pub upload_mib: u32,
}
