//! Archives of games: opening files, and cutting their text into blocks of whole games.
//!
//! Text is passed on as bytes: what a game says is the business of `hobble-game`.
//!
//! - [`listing`]: which files an argument of the command line means;
//! - [`format`]: how a file is packed, told by its first bytes;
//! - [`stream`]: a file as a stream of unpacked bytes, counted and hashed on the way;
//! - [`split`]: where one game ends and the next begins;
//! - [`block`]: blocks of whole games for the workers.

pub mod block;
pub mod format;
pub mod listing;
mod members;
pub mod split;
pub mod stream;

use std::io;
use std::path::PathBuf;

/// What can go wrong with an archive file.
#[derive(Debug, thiserror::Error)]
pub enum ArchiveError {
    /// The file or folder could not be opened or listed.
    #[error("{path}: cannot be opened: {error}", path = path.display())]
    Open {
        /// The file.
        path: PathBuf,
        /// What the system said.
        error: io::Error,
    },
    /// Reading or unpacking failed on the way.
    #[error("{path}: reading stopped after {offset} unpacked bytes: {error}", path = path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Bytes unpacked before.
        offset: u64,
        /// What the system or the unpacker said.
        error: io::Error,
    },
    /// The file is whole, but there is more in it than packed text.
    #[error("{path}: {bytes} bytes behind the end of the packed text are not read", path = path.display())]
    Rubbish {
        /// The file.
        path: PathBuf,
        /// How many bytes.
        bytes: u64,
    },
    /// The file was written to while it was read.
    #[error("{path}: changed while it was read; scan it again when it is whole", path = path.display())]
    Growing {
        /// The file.
        path: PathBuf,
    },
    /// A folder holds nothing to read.
    #[error("{path}: no .pgn, .pgn.zst, .pgn.gz or .pgn.bz2 file in this folder", path = path.display())]
    EmptyFolder {
        /// The folder.
        path: PathBuf,
    },
    /// The same file is named twice.
    #[error("{path}: named twice; scan it once", path = path.display())]
    NamedTwice {
        /// The file.
        path: PathBuf,
    },
    /// The text is not one of single bytes.
    #[error("{path}: is UTF-16 text, which is not read; convert it to UTF-8 first", path = path.display())]
    Utf16 {
        /// The file.
        path: PathBuf,
    },
}
