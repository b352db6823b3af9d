//! A folder that can be published: the tables of a finished scan with all that describes them.
//!
//! [`Deposit::write`] puts these files into an empty folder:
//! - the tables, linked where the file system allows it, else copied ([`files`]);
//! - `datapackage.json`, which describes every file and column ([`data_package`]);
//! - `datacite.json` and `CITATION.cff`, for the repository and for those who cite ([`citing`]);
//! - `codebook.csv`, `definitions.md`, `views.sql`, and `manifest.json`, by which the program reads the folder;
//! - `SHA256SUMS`, in the form that `sha256sum --check` reads.
//!
//! Names of archives stand in it without folders, which may show whose machine it was.

pub mod citing;
pub mod data_package;
mod error;
pub mod files;
pub mod names;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use hobble_archive::stream::sha256;
use hobble_tables::Error as TablesError;
use hobble_tables::codebook::{Format, codebook};
use hobble_tables::part::entries;
use hobble_tables::views::views;
use hobble_terms::manifest::Manifest;

pub use error::Error;
use files::DepositedFile;

/// What the user says of the deposit.
#[derive(Clone, Debug, Default)]
pub struct About {
    /// Its title.
    pub title: Option<String>,
    /// Who made it: people as `Family, Given`, or names of groups.
    pub creators: Vec<String>,
    /// Who publishes it.
    pub publisher: Option<String>,
    /// Licence of the deposit itself, as CC-BY-4.0.
    pub licence: Option<String>,
    /// Date and time of the deposit in UTC (ISO 8601).
    pub date: String,
}

/// A folder of tables to be published.
pub struct Deposit<'a> {
    folder: &'a Path,
    manifest: Manifest,
    about: About,
}

/// What was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Written {
    /// Files of tables.
    pub files: usize,
    /// Their bytes.
    pub bytes: u64,
}

/// The definitions that the tables follow.
const DEFINITIONS: &str = include_str!("../../../schemas/definitions.md");

impl<'a> Deposit<'a> {
    /// A deposit of the tables in a folder.
    ///
    /// # Errors
    ///
    /// Where there are none, or their scan has not ended.
    pub fn new(folder: &'a Path, about: About) -> Result<Deposit<'a>, Error> {
        let manifest = Manifest::load(folder)?.ok_or_else(|| Error::NoManifest {
            folder: folder.to_owned(),
        })?;
        if !manifest.complete {
            return Err(Error::Incomplete {
                folder: folder.to_owned(),
            });
        }
        Ok(Deposit {
            folder,
            manifest,
            about,
        })
    }

    /// What a repository will ask for that was not given, with its option.
    pub fn not_given(&self) -> Vec<String> {
        let mut not_given = Vec::new();
        let mut ask = |missing: bool, what: &str| {
            if missing {
                not_given.push(what.to_owned());
            }
        };
        let about = &self.about;
        ask(about.title.is_none(), "the title (--title)");
        ask(about.creators.is_empty(), "who made it (--creator)");
        ask(about.publisher.is_none(), "who publishes it (--publisher)");
        ask(about.licence.is_none(), "its licence (--licence)");
        let named = self.manifest.parameters.pseudonyms.is_none();
        ask(
            named,
            "pseudonyms: the tables hold players' names (scan --pseudonyms)",
        );
        let sources = &self.manifest.sources;
        let origins = sources.iter().any(|source| source.origin.is_none());
        ask(origins, "where archives come from (scan --origin)");
        let licences = sources.iter().any(|source| source.licence.is_none());
        ask(licences, "the licence of archives (scan --licence)");
        not_given
    }

    /// Writes the deposit into a folder that is empty or not there.
    ///
    /// # Errors
    ///
    /// Where the folder has files, or files cannot be read or written.
    pub fn write(mut self, out: &Path) -> Result<Written, Error> {
        fs::create_dir_all(out).map_err(TablesError::write(out))?;
        if !entries(out)?.is_empty() {
            return Err(Error::NotEmpty {
                folder: out.to_owned(),
            });
        }
        let files = files::place(self.folder, &mut self.manifest, out)?;
        names::without_folders(&mut self.manifest);
        let manifest = &self.manifest;
        let mut texts = vec![
            ("codebook.csv", codebook(Format::Csv, &[])),
            ("definitions.md", DEFINITIONS.to_owned()),
            ("views.sql", views()),
            ("CITATION.cff", citing::citation_file(manifest, &self.about)),
            ("datacite.json", citing::datacite(manifest, &self.about)?),
        ];
        for (name, text) in data_package::schema_files(manifest)? {
            write(out, &name, &text)?;
        }
        let package = data_package::data_package(manifest, &self.about, &files, &texts)?;
        texts.push(("datapackage.json", package));
        for (name, text) in &texts {
            write(out, name, text)?;
        }
        self.manifest.save(out)?;
        write(out, "SHA256SUMS", &sums(&files, &texts))?;
        Ok(Written {
            files: files.len(),
            bytes: files.iter().map(|file| file.bytes).sum(),
        })
    }
}

/// A line a file: its SHA-256 and its path.
fn sums(files: &[DepositedFile], texts: &[(&str, String)]) -> String {
    let mut sums = String::new();
    for file in files {
        let _ = writeln!(sums, "{}  {}", file.sha256, file.path);
    }
    for (name, text) in texts {
        let _ = writeln!(sums, "{}  {name}", sha256(text.as_bytes()));
    }
    sums
}

fn write(out: &Path, name: &str, text: &str) -> Result<(), TablesError> {
    let path = out.join(name);
    let folder = path.parent().unwrap_or(out);
    fs::create_dir_all(folder)
        .and_then(|()| fs::write(&path, text))
        .map_err(TablesError::write(&path))
}
