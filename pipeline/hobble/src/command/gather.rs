//! `hobble gather`

use hobble_tables::join;
use hobble_terms::manifest::Source;

use super::scan::print_account;
use crate::arguments::Gather;
use crate::words::{same_bytes, say};

/// Joins tables that were scanned apart and prints the account.
pub fn run(arguments: &Gather) -> anyhow::Result<bool> {
    let manifest = if arguments.manifest_only {
        join::gather_manifest(&arguments.folders, &arguments.out)?
    } else {
        join::gather(&arguments.folders, &arguments.out)?
    };
    let mut twice = false;
    for (at, source) in manifest.sources.iter().enumerate() {
        let mut earlier = manifest.sources[..at].iter();
        let same = |other: &&Source| other.sha256.is_some() && other.sha256 == source.sha256;
        if let Some(twin) = earlier.find(same) {
            twice = true;
            say(&same_bytes(&source.file, &twin.file));
        }
    }
    print_account(&manifest)?;
    Ok(manifest.complete && manifest.account().reconciles() && !twice)
}
