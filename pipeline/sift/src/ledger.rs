//! How often the locked half of a dataset was opened, in a small file beside its tables.
//!
//! An opening is written down before the half is read, so that none is forgotten.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use hobble_report::replace_file;
use hobble_terms::manifest::Stripe;
use serde::{Deserialize, Serialize};

use crate::SiftError;

/// Name of the file in the folder of the tables.
pub const FILE: &str = "sift-openings.json";

/// Version of the shape of [`Ledger`]: since 2 an opening may name shares.
const FORMAT: u32 = 2;

/// The openings of a locked half.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ledger {
    /// Version of the shape of this file.
    pub format: u32,
    /// The openings, the first one first.
    pub openings: Vec<Opening>,
}

/// One opening.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// Version of the program.
    pub hobble: String,
    /// Hash of the grid's file.
    pub grid: String,
    /// Claims tried on the other half.
    pub tried: u64,
    /// Hashes of the claims asked.
    pub claims: Vec<String>,
    /// Shares of the parts, where each was written down when it was read: so it was in early files of
    /// format 2.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shares: Vec<Stripe>,
}

impl Ledger {
    /// Reads the file; where there is none, nothing was opened.
    ///
    /// # Errors
    ///
    /// Where it cannot be read or is not such a file.
    pub fn read(path: &Path) -> Result<Ledger, SiftError> {
        let failed = |what: String| SiftError::Ledger {
            path: path.to_owned(),
            what,
        };
        match fs::read_to_string(path) {
            Ok(text) => {
                let ledger: Ledger = serde_json::from_str(&text)
                    .map_err(|error| failed(format!("invalid: {error}")))?;
                match ledger.format {
                    1..=FORMAT => Ok(ledger),
                    format => Err(failed(format!(
                        "format {format}, this program reads 1 to {FORMAT}"
                    ))),
                }
            }
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(Ledger {
                format: FORMAT,
                openings: Vec::new(),
            }),
            Err(error) => Err(failed(format!("cannot be read: {error}"))),
        }
    }

    /// Writes an opening down; its number, the first being 1.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read or written.
    pub fn add(path: &Path, opening: Opening) -> Result<u32, SiftError> {
        let mut ledger = Ledger::read(path)?;
        ledger.format = FORMAT;
        ledger.openings.push(opening);
        replace_file(path, |file| {
            serde_json::to_writer_pretty(&mut *file, &ledger)?;
            file.write_all(b"\n")?;
            file.sync_all()
        })
        .map_err(|error| SiftError::Ledger {
            path: path.to_owned(),
            what: format!("the opening cannot be written down: {error}"),
        })?;
        Ok(ledger.openings.len() as u32)
    }
}

/// Where the ledger of a folder of tables is.
pub fn of(data: &Path) -> PathBuf {
    data.join(FILE)
}
