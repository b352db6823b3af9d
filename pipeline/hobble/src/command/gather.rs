//! `hobble gather`

use hobble_tables::join;
use hobble_terms::manifest::Source;

use super::scan::print_account;
use crate::arguments::Gather;
use crate::words::{counted, left_out, same_bytes, say};

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
        let sha256 = source.contents.sha256.as_ref();
        let same = |other: &&Source| sha256.is_some() && other.contents.sha256.as_ref() == sha256;
        if let Some(twin) = earlier.find(same) {
            if manifest.leaves_all_repeats_out() {
                say(&left_out(&source.file, &twin.file));
            } else {
                twice = true;
                say(&same_bytes(&source.file, &twin.file));
            }
        }
    }
    if let Some(repeats) = manifest.repeats_kept.filter(|&repeats| repeats > 0) {
        say(&format!(
            "{} of another archive and {} counted all the same: scan the archives into one \
             folder to leave repeats out",
            match repeats {
                1 => "1 game repeats one".to_owned(),
                n => format!("{} repeat one", counted(n, "game")),
            },
            if repeats == 1 { "is" } else { "are" }
        ));
    }
    print_account(&manifest)?;
    Ok(manifest.complete && manifest.account().reconciles() && !twice)
}
