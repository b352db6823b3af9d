//! A list of the games of an archive that repeat another one.

use std::borrow::Cow;
use std::collections::HashMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use hobble_archive::stream::sha256;
use serde::{Deserialize, Serialize};

use super::game_key::GameKey;
use super::register::Original;

/// The games of an archive, or of one stripe of it, that repeat another one.
#[derive(Clone, Debug)]
pub struct RepeatsList {
    /// By the game's number: the hash of its key, and the game it repeats.
    originals: HashMap<u32, (u64, Original)>,
    pass: String,
    sha256: String,
}

/// Beginning of the first line of a list. The pass follows: a hash of the archives and stripes in their order.
pub(super) const PASS: &str = "# pass ";

/// A line of a list: a game by its number in its archive, the hash of its key in hexadecimal, by
/// which a list of another archive is known, and the game it repeats.
#[derive(Debug, Deserialize, Serialize)]
pub(super) struct Line<'a> {
    pub game: u32,
    pub key: Cow<'a, str>,
    pub original_source: &'a str,
    pub original_game: u32,
}

/// A list that cannot be used. The message does not repeat its source.
#[derive(Debug, thiserror::Error)]
pub enum ListError {
    /// The file cannot be read.
    #[error("{path}: cannot be read", path = path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The file is not a list of repeats.
    #[error("{path}: is not a list of repeats as `hobble repeats` writes it", path = path.display())]
    Csv {
        /// The file.
        path: PathBuf,
        /// What the reader of CSV said, with the line.
        source: csv::Error,
    },
    /// The list does not begin with the line that names its pass.
    #[error("{path}: is a list of an older program, without the line `# pass` that names its pass; write it anew with `hobble repeats`", path = path.display())]
    NoPass {
        /// The file.
        path: PathBuf,
    },
    /// A game stands in the list twice.
    #[error("{path}: names game {game} twice", path = path.display())]
    Twice {
        /// The file.
        path: PathBuf,
        /// The game.
        game: u32,
    },
}

impl RepeatsList {
    /// Reads a list: CSV with the columns `game`, `key`, `original_source` and `original_game`, below a
    /// line that names the pass, as `# pass 1f2e3d4c5b6a7988`.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read, or is not such a list.
    pub fn read(path: &Path) -> Result<RepeatsList, ListError> {
        let text = fs::read(path).map_err(|source| ListError::Read {
            path: path.to_owned(),
            source,
        })?;
        let invalid = |source| ListError::Csv {
            path: path.to_owned(),
            source,
        };
        let end = text.iter().position(|&byte| byte == b'\n');
        let (first, rows) = text.split_at(end.unwrap_or(text.len()));
        let pass = first.strip_prefix(PASS.as_bytes());
        let mut reader = csv::Reader::from_reader(if pass.is_some() { rows } else { &text });
        let mut sources: HashMap<String, Arc<str>> = HashMap::new();
        let mut originals = HashMap::new();
        let mut record = csv::StringRecord::new();
        let headers = reader.headers().map_err(invalid)?.clone();
        // Also of a list without a line.
        if headers.iter().ne(COLUMNS) {
            let wrong = io::Error::new(io::ErrorKind::InvalidData, "another heading");
            return Err(invalid(wrong.into()));
        }
        let Some(pass) = pass else {
            return Err(ListError::NoPass {
                path: path.to_owned(),
            });
        };
        while reader.read_record(&mut record).map_err(invalid)? {
            let line: Line<'_> = record.deserialize(Some(&headers)).map_err(invalid)?;
            let source = match sources.get(line.original_source) {
                Some(known) => known.clone(),
                None => {
                    let source: Arc<str> = line.original_source.into();
                    sources.insert(line.original_source.to_owned(), source.clone());
                    source
                }
            };
            let original = Original {
                source,
                number: line.original_game,
            };
            let hash = u64::from_str_radix(&line.key, 16).map_err(|error| {
                invalid(io::Error::new(io::ErrorKind::InvalidData, error).into())
            })?;
            if originals.insert(line.game, (hash, original)).is_some() {
                return Err(ListError::Twice {
                    path: path.to_owned(),
                    game: line.game,
                });
            }
        }
        Ok(RepeatsList {
            originals,
            pass: String::from_utf8_lossy(pass).trim_end().to_owned(),
            sha256: sha256(&text),
        })
    }

    /// The game that a game repeats; `None` where it repeats none, and where the list means
    /// another game of that number.
    pub fn original(&self, game: &GameKey) -> Option<Original> {
        let (hash, original) = self.originals.get(&game.number())?;
        (*hash == game.hash()).then(|| original.clone())
    }

    /// Number of games in the list.
    pub fn len(&self) -> usize {
        self.originals.len()
    }

    /// Whether no game is in the list.
    pub fn is_empty(&self) -> bool {
        self.originals.is_empty()
    }

    /// The pass in which it was written.
    pub fn pass(&self) -> &str {
        &self.pass
    }

    /// SHA-256 of the file.
    pub fn sha256(&self) -> &str {
        &self.sha256
    }
}

/// Columns of a list.
pub(super) const COLUMNS: [&str; 4] = ["game", "key", "original_source", "original_game"];
