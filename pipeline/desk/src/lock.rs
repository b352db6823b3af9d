//! One desk a folder.

use std::fs::{File, TryLockError};
use std::path::Path;

use anyhow::{Context as _, bail};

/// File whose lock a desk holds.
const FILE: &str = ".desk";

/// Keeps other desks from the folder while the file is open.
pub fn lock(folder: &Path) -> anyhow::Result<File> {
    let path = folder.join(FILE);
    // Nothing is written to it, so that what a link leads to stays as it is.
    let mut options = File::options();
    let file = options.append(true).create(true).open(&path);
    let file = file.with_context(|| format!("{}: cannot be written", path.display()))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => bail!(
            "{}: another desk is open on this folder; close it first, or use its address",
            folder.display()
        ),
        Err(TryLockError::Error(error)) => {
            Err(error).with_context(|| format!("{}: cannot be locked", path.display()))
        }
    }
}
