//! What a scan reports while it runs.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use hobble_archive::ArchiveError;
use hobble_archive::stream::Progress;

use crate::oddity::Oddity;
use crate::skipped::SkippedGame;

/// What happens to an archive or a game.
#[derive(Debug)]
pub enum Event<'a> {
    /// A file is being read from here on.
    Begin {
        /// The file.
        file: &'a str,
        /// Blocks taken over from an interrupted scan.
        resumed: u64,
    },
    /// A file was read to its end by a former scan.
    Done {
        /// The file.
        file: &'a str,
        /// Why bytes behind its end were not read, if there were any.
        error: Option<&'a str>,
    },
    /// A file cannot be opened; the others are read.
    Unopened {
        /// What happened.
        error: &'a ArchiveError,
    },
    /// A game was skipped.
    Skipped {
        /// The file.
        file: &'a str,
        /// The game.
        game: &'a SkippedGame,
    },
    /// Part of a game's text was passed over; the game is kept.
    PassedOver {
        /// The file.
        file: &'a str,
        /// What it was.
        oddity: &'a Oddity,
    },
    /// Reading stopped before the end of the file; what came before is kept.
    Broken {
        /// What happened.
        error: &'a ArchiveError,
    },
    /// A file has the bytes of another one.
    SameBytes {
        /// The file.
        file: &'a str,
        /// The other one.
        as_file: &'a str,
    },
}

/// How far a scan has come, for a progress bar on another thread.
#[derive(Default)]
pub struct Watch {
    games: AtomicU64,
    /// Bytes of the files before the current one.
    before: AtomicU64,
    current: Mutex<Progress>,
    done: AtomicBool,
}

impl Watch {
    /// Games gathered.
    pub fn games(&self) -> u64 {
        self.games.load(Ordering::Relaxed)
    }

    /// Bytes of archive files read.
    pub fn bytes(&self) -> u64 {
        let current = self.current.lock().map_or(0, |progress| progress.bytes());
        self.before.load(Ordering::Relaxed) + current
    }

    /// Whether the scan is over.
    pub fn is_done(&self) -> bool {
        self.done.load(Ordering::Relaxed)
    }

    /// Marks the scan as over.
    pub fn finish(&self) {
        self.done.store(true, Ordering::Relaxed);
    }

    /// Adds games that were gathered.
    pub(super) fn add_games(&self, games: u64) {
        self.games.fetch_add(games, Ordering::Relaxed);
    }

    /// Follows the reading of the next file.
    pub(super) fn follow(&self, progress: Progress) {
        if let Ok(mut current) = self.current.lock() {
            self.before.fetch_add(current.bytes(), Ordering::Relaxed);
            *current = progress;
        }
    }
}
