//! What a desk is told at its start.

use std::path::PathBuf;
use std::time::Duration;

/// What a desk is told at its start.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Folder of the tables; made where it is not there.
    pub data: PathBuf,
    /// Another folder whose archives may be read; none beside the data folder's own without it.
    pub archives: Option<PathBuf>,
    /// Port to listen on; 0 for any that is free.
    pub port: u16,
    /// Most bytes that one upload may have.
    pub upload_bytes: u64,
    /// The program that scans: `hobble` itself.
    pub program: PathBuf,
    /// Pieces of work done at a time, reports and searches among them.
    pub at_a_time: usize,
    /// How long a request waits for its turn before it is told that the desk is busy.
    pub patience: Duration,
}

impl Settings {
    /// The usual settings for a data folder.
    pub fn of(data: impl Into<PathBuf>) -> Settings {
        Settings {
            data: data.into(),
            archives: None,
            port: 0,
            upload_bytes: 4 << 30,
            program: PathBuf::from("hobble"),
            at_a_time: 2,
            patience: Duration::from_secs(20),
        }
    }
}
