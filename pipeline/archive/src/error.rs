//! What can go wrong with an archive.

use std::error::Error;
use std::io;
use std::path::PathBuf;

/// What can go wrong with an archive.
#[derive(Debug, thiserror::Error)]
pub enum ArchiveError {
    /// The file or folder could not be opened or listed.
    #[error("{path}: cannot be opened", path = path.display())]
    Open {
        /// The file or folder.
        path: PathBuf,
        /// The system's error.
        source: io::Error,
    },
    /// Reading or unpacking failed on the way.
    #[error("{path}: reading stopped after {offset} unpacked bytes", path = path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Bytes unpacked before.
        offset: u64,
        /// The error of the system or the unpacker.
        source: io::Error,
    },
    /// The packed text is whole, but other bytes follow it.
    #[error("{path}: {bytes} bytes behind the end of the packed text are not read", path = path.display())]
    TrailingBytes {
        /// The file.
        path: PathBuf,
        /// How many bytes.
        bytes: u64,
    },
    /// The file was written to while it was read.
    #[error("{path}: changed while it was read; scan it again when it is whole", path = path.display())]
    ChangedWhileRead {
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
}

/// The message of an error and those of its causes, in one line.
pub fn with_causes(error: &dyn Error) -> String {
    let mut line = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        line.push_str(": ");
        line.push_str(&error.to_string());
        cause = error.source();
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cause_is_in_the_line_once() {
        let error = ArchiveError::Read {
            path: "a.pgn".into(),
            offset: 7,
            source: io::Error::other("disk gone"),
        };
        assert_eq!(
            with_causes(&error),
            "a.pgn: reading stopped after 7 unpacked bytes: disk gone"
        );
        let path = "a.pgn".into();
        let error = ArchiveError::NamedTwice { path };
        assert_eq!(with_causes(&error), "a.pgn: named twice; scan it once");
    }
}
