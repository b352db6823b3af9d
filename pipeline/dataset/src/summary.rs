//! What the tables of a scan were made from.

use std::collections::BTreeMap;

use hobble_terms::manifest::{Manifest, Repeats};
use serde::{Deserialize, Serialize};

use crate::chosen_sides::ChosenSummary;

/// What the tables were made from, from the manifest.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DatasetSummary {
    /// Version of the program that made the tables; empty where the manifest does not say.
    pub hobble: String,
    /// Archive files, in the manifest's order.
    pub sources: Vec<SourceSummary>,
    /// Games read, of all files.
    pub read: u64,
    /// Games kept, of all files.
    pub kept: u64,
    /// Games left out because they repeat one that was kept, of all files; empty where the scan
    /// kept them.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub repeats: Option<u64>,
    /// Games skipped, of all files.
    pub skipped: u64,
    /// Games skipped by reason, of all files.
    pub skipped_by_reason: BTreeMap<String, u64>,
    /// Sides looked at, where a question chooses some of them.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub chosen: Option<ChosenSummary>,
}

/// One archive file.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SourceSummary {
    /// Name of the source: its folder in every table.
    pub source: String,
    /// Archive file as named to the scan.
    pub file: String,
    /// SHA-256 of the file in hexadecimal; empty where not known.
    pub sha256: String,
    /// Games read.
    pub read: u64,
    /// Games kept.
    pub kept: u64,
    /// Games left out because they repeat one that was kept.
    #[serde(skip_serializing_if = "is_zero", default)]
    pub repeats: u64,
    /// Games skipped, by reason.
    pub skipped: BTreeMap<String, u64>,
    /// Where the archive comes from, as given to the scan.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub origin: Option<String>,
    /// Its licence, as given to the scan.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub licence: Option<String>,
}

fn is_zero(n: &u64) -> bool {
    *n == 0
}

impl DatasetSummary {
    pub(crate) fn of(manifest: &Manifest) -> DatasetSummary {
        let account = manifest.account();
        let sources = manifest.sources.iter().map(|source| SourceSummary {
            source: source.source.clone(),
            file: source.file.clone(),
            sha256: source.contents.sha256.clone().unwrap_or_default(),
            read: source.account.read,
            kept: source.account.kept,
            repeats: source.account.repeats,
            skipped: source.account.skipped.clone(),
            origin: source.origin.clone(),
            licence: source.licence.clone(),
        });
        DatasetSummary {
            hobble: manifest.hobble.clone(),
            sources: sources.collect(),
            read: account.read,
            kept: account.kept,
            repeats: (manifest.parameters.repeats == Repeats::LeaveOut).then_some(account.repeats),
            skipped: account.skipped_total(),
            skipped_by_reason: account.skipped,
            chosen: None,
        }
    }
}
