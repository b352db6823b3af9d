//! What a folder of tables holds, and how it came about.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::DEFINITIONS;
use crate::account::Account;
use crate::table::{ALL_SOURCES, Table};

mod contents;
mod parameters;
mod provenance;

pub use contents::Contents;
pub use parameters::{Cuts, DEFAULT_SAMPLE, Parameters, Pseudonyms, Repeats, Stripe};
pub use provenance::{Provenance, Scanned};

/// Name of the manifest in the folder.
pub const FILE: &str = "manifest.json";

/// The manifest of a folder of tables.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Manifest {
    /// Version of the program that wrote the tables.
    pub hobble: String,
    /// Version of the definitions.
    pub definitions: u32,
    /// Versions of the columns, by table.
    pub schemas: BTreeMap<Table, u32>,
    /// What the scan was asked for.
    pub parameters: Parameters,
    /// Whether every source was read to its end.
    pub complete: bool,
    /// Games kept that repeat one of an archive that was scanned apart; known where scans were
    /// gathered, and none where a pass over all archives had listed them.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub repeats_kept: Option<u64>,
    /// The archive files, in the order they were read.
    pub sources: Vec<Source>,
    /// The cube of all parts together, once every source was read to its end; parts that are in
    /// it have none of their own.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub cube: Option<OneFile>,
    /// The players of all parts, once every source was read to its end.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub players: Option<OneFile>,
    /// Rows and bytes of each table, over all sources.
    pub tables: BTreeMap<Table, Size>,
}

/// One archive file.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Source {
    /// Name of its folder in the tables.
    pub source: String,
    /// The file, as named to the scan; `-` is standard input. Words for a reader where the source
    /// is a bundle.
    pub file: String,
    /// The files of a bundle: small archives that share parts, in the order they are read. Empty
    /// where the source is one file. Bytes of a bundle are the sum of its files', and its SHA-256
    /// is that of theirs, each in hexadecimal with a line break.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub bundle: Vec<BundledFile>,
    /// Its bytes.
    #[serde(flatten)]
    pub contents: Contents,
    /// Where it comes from, as given to the scan.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub origin: Option<String>,
    /// Its licence, as given to the scan.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub licence: Option<String>,
    /// When and by which program it was read to its end; empty until then, and in manifests of
    /// older programs.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub scanned: Option<Scanned>,
    /// Whether it was read to its end.
    pub complete: bool,
    /// What stopped the reading, or was left unread behind the end.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub error: Option<String>,
    /// What was read in the parts below, added up.
    #[serde(flatten)]
    pub account: Account,
    /// The parts written, in order.
    pub parts: Vec<Part>,
}

impl Source {
    /// Adds the parts' accounts up.
    pub fn add_up(&mut self) {
        self.account = Account::default();
        for part in &self.parts {
            self.account.add(&part.account);
        }
    }

    /// The archive files of the source; those that a bundle set apart are sources of their own.
    pub fn files(&self) -> Vec<ArchiveFile<'_>> {
        if self.bundle.is_empty() {
            return vec![ArchiveFile {
                file: &self.file,
                sha256: self.contents.sha256.as_deref(),
                games: self.account.read,
            }];
        }
        let bundled = self.bundle.iter().filter(|file| !file.apart);
        bundled
            .map(|file| ArchiveFile {
                file: &file.file,
                sha256: file.contents.sha256.as_deref(),
                games: file.games.unwrap_or(0),
            })
            .collect()
    }

    /// Whether another scan read the same bytes and wrote the same tables, whenever that was and
    /// whenever the file, or that copy of it, was last written.
    pub fn is_scan_of_same(&self, other: &Source) -> bool {
        let timeless = |source: &Source| {
            let mut source = source.clone().without_provenance();
            source.forget_times();
            // The cubes of the parts may have been added up already.
            for part in &mut source.parts {
                part.tables.remove(&Table::Exposure);
            }
            source
        };
        timeless(self) == timeless(other)
    }

    /// Keeps the times of writing only where another scan of the same bytes saw them too.
    pub fn agree_on_time(&mut self, other: &Source) {
        self.contents.agree_on_time(&other.contents);
        for (file, other) in self.bundle.iter_mut().zip(&other.bundle) {
            file.contents.agree_on_time(&other.contents);
        }
    }

    /// Forgets when the archive was last written.
    pub fn forget_times(&mut self) {
        self.contents.modified = None;
        for file in &mut self.bundle {
            file.contents.modified = None;
        }
    }
}

/// A file of a bundle.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct BundledFile {
    /// The file, as named to the scan.
    pub file: String,
    /// Its bytes.
    #[serde(flatten)]
    pub contents: Contents,
    /// Games read.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub games: Option<u64>,
    /// Whether it was set apart, and is a source of its own.
    #[serde(skip_serializing_if = "std::ops::Not::not", default)]
    pub apart: bool,
}

/// An archive file, whether it is a source or one of a bundle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ArchiveFile<'a> {
    /// The file, as named to the scan.
    pub file: &'a str,
    /// SHA-256 of its bytes; empty until it was read to its end.
    pub sha256: Option<&'a str>,
    /// Games read of it.
    pub games: u64,
}

/// One set of files of a source.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Part {
    /// Its number, from 0.
    pub part: u64,
    /// Blocks read up to its end.
    pub end_block: u64,
    /// Unpacked bytes read up to its end.
    pub end_offset: u64,
    /// XXH3-64 of the text read up to its end, in hexadecimal, by which a changed archive is known.
    #[serde(default)]
    pub end_hash: String,
    /// What was read in it.
    pub account: Account,
    /// Rows and bytes of its files.
    pub tables: BTreeMap<Table, Size>,
}

/// A table in one file for all sources.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct OneFile {
    /// Number of its file in the folder of all sources.
    pub part: u64,
    /// Rows and bytes.
    #[serde(flatten)]
    pub size: Size,
}

/// Size of a table.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Size {
    /// Rows.
    pub rows: u64,
    /// Bytes on disk.
    pub bytes: u64,
}

impl Manifest {
    /// Whether no game is counted that repeats another one, of whatever archive.
    pub fn leaves_all_repeats_out(&self) -> bool {
        self.parameters.repeats == Repeats::LeaveOut && self.repeats_kept.unwrap_or(0) == 0
    }

    /// A manifest of nothing yet.
    ///
    /// `schemas` are the versions of the columns, by table.
    pub fn new(parameters: Parameters, schemas: BTreeMap<Table, u32>) -> Manifest {
        Manifest {
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            definitions: DEFINITIONS,
            schemas,
            parameters,
            complete: false,
            repeats_kept: None,
            sources: Vec::new(),
            cube: None,
            players: None,
            tables: BTreeMap::new(),
        }
    }

    /// Parts of all sources.
    pub fn part_count(&self) -> u64 {
        let parts = self.sources.iter().map(|source| source.parts.len());
        parts.sum::<usize>() as u64
    }

    /// What was read over all sources.
    pub fn account(&self) -> Account {
        let mut account = Account::default();
        for source in &self.sources {
            account.add(&source.account);
        }
        account
    }

    /// Reads the manifest of a folder; `None` where there is none.
    ///
    /// # Errors
    ///
    /// Where it cannot be read or was written by other definitions.
    pub fn load(folder: &Path) -> Result<Option<Manifest>, ManifestError> {
        let path = folder.join(FILE);
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(source) => return Err(ManifestError::Io { path, source }),
        };
        // The version first: the rest may have another shape.
        #[derive(Deserialize)]
        struct Version {
            definitions: u32,
        }
        let broken = |source| ManifestError::Broken {
            path: path.clone(),
            source,
        };
        let version: Version = serde_json::from_str(&text).map_err(broken)?;
        if version.definitions != DEFINITIONS {
            return Err(ManifestError::Definitions {
                path,
                theirs: version.definitions,
                ours: DEFINITIONS,
            });
        }
        let manifest: Manifest = serde_json::from_str(&text).map_err(broken)?;
        // These names become paths.
        let safe = |c: char| c.is_ascii_alphanumeric() || "._-".contains(c);
        match manifest.sources.iter().find(|source| {
            source.source.is_empty()
                || source.source.starts_with('.')
                || !source.source.chars().all(safe)
        }) {
            Some(source) => Err(ManifestError::Name {
                path,
                name: source.source.clone(),
            }),
            None => Ok(Some(manifest)),
        }
    }

    /// The file of the cube of all parts together.
    pub fn cube_file(&self, folder: &Path) -> Option<PathBuf> {
        let cube = self.cube?;
        Some(Table::Exposure.part_file(folder, ALL_SOURCES, cube.part))
    }

    /// The tables that are one file for all sources.
    pub fn files_of_all(&self) -> impl Iterator<Item = (Table, OneFile)> {
        let both = [(Table::Players, self.players), (Table::Exposure, self.cube)];
        both.into_iter()
            .filter_map(|(table, file)| Some((table, file?)))
    }

    /// Adds the sizes of the tables up.
    pub fn add_up(&mut self) {
        self.tables.clear();
        for part in self.sources.iter().flat_map(|source| &source.parts) {
            for (&table, size) in &part.tables {
                let sum = self.tables.entry(table).or_default();
                sum.rows += size.rows;
                sum.bytes += size.bytes;
            }
        }
        let of_all: Vec<_> = self.files_of_all().collect();
        for (table, file) in of_all {
            let sum = self.tables.entry(table).or_default();
            sum.rows += file.size.rows;
            sum.bytes += file.size.bytes;
        }
    }

    /// Writes the manifest, so that at any moment the old or the new one is there whole.
    ///
    /// # Errors
    ///
    /// What the system says.
    pub fn save(&mut self, folder: &Path) -> Result<(), ManifestError> {
        self.add_up();
        let path = folder.join(FILE);
        let temporary = folder.join("manifest.json.new");
        let write = || -> io::Result<()> {
            let mut file = BufWriter::new(File::create(&temporary)?);
            serde_json::to_writer_pretty(&mut file, self).map_err(io::Error::other)?;
            file.write_all(b"\n")?;
            let file = file.into_inner().map_err(io::IntoInnerError::into_error)?;
            file.sync_all()?;
            fs::rename(&temporary, &path)
        };
        write().map_err(|source| {
            let _ = fs::remove_file(&temporary);
            ManifestError::Write { path, source }
        })
    }
}

/// What to do about tables of another version of the definitions.
pub fn advice(theirs: u32) -> &'static str {
    if theirs > DEFINITIONS {
        "use a newer program"
    } else {
        "scan the archives again into a new folder"
    }
}

/// What can be wrong with a manifest. The messages do not repeat their sources.
#[derive(Debug, thiserror::Error)]
pub enum ManifestError {
    /// It cannot be read.
    #[error("{path}: cannot be read", path = path.display())]
    Io {
        /// The manifest.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// It cannot be written.
    #[error("{path}: finished parts stay, but this file cannot be written", path = path.display())]
    Write {
        /// The manifest.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// It names a source that could lead out of the folder.
    #[error("{path}: not a manifest this program can read: invalid name of a source `{name}`", path = path.display(), name = name.escape_default())]
    Name {
        /// The manifest.
        path: PathBuf,
        /// The name.
        name: String,
    },
    /// It is not what a manifest looks like.
    #[error("{path}: not a manifest this program can read", path = path.display())]
    Broken {
        /// The manifest.
        path: PathBuf,
        /// What the reader said.
        source: serde_json::Error,
    },
    /// It belongs to tables of other definitions.
    #[error(
        "{path}: tables of definitions version {theirs}, this program follows version {ours}: {advice}",
        path = path.display(),
        advice = advice(*theirs)
    )]
    Definitions {
        /// The manifest.
        path: PathBuf,
        /// Version of the tables.
        theirs: u32,
        /// Version of the program.
        ours: u32,
    },
}
