//! What can go wrong with finding and following a game.

use std::path::PathBuf;

use hobble_archive::ArchiveError;

/// What can go wrong with finding and following a game.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The archive cannot be read.
    #[error(transparent)]
    Archive(#[from] ArchiveError),
    /// The archive has fewer games than the number asked for.
    #[error("{path}: game {number} asked for, the archive has {games}", path = path.display())]
    NoSuchNumber {
        /// The archive.
        path: PathBuf,
        /// Number asked for.
        number: u64,
        /// Games there are.
        games: u64,
    },
    /// No game of the archive has the id.
    #[error("{path}: no game has the id {id:016x}; games looked at: {games}", path = path.display())]
    NoSuchId {
        /// The archive.
        path: PathBuf,
        /// Id asked for.
        id: u64,
        /// Games there are.
        games: u64,
    },
    /// The game cannot be followed.
    #[error("{file}: game {number}, line {line}: {skip}; no page was made of it")]
    Skipped {
        /// The archive.
        file: String,
        /// Number of the game.
        number: u64,
        /// Line of the offending place.
        line: u64,
        /// Why.
        skip: hobble_game::skip::Skip,
    },
}
