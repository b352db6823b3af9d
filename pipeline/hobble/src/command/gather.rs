//! `hobble gather`

use hobble_tables::join;

use super::scan::print_account;
use crate::arguments::Gather;

/// Joins tables that were scanned apart and prints the account.
pub fn run(arguments: &Gather) -> anyhow::Result<bool> {
    let manifest = if arguments.manifest_only {
        join::gather_manifest(&arguments.folders, &arguments.out)?
    } else {
        join::gather(&arguments.folders, &arguments.out)?
    };
    print_account(&manifest)?;
    Ok(manifest.complete && manifest.account().reconciles())
}
