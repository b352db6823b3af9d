//! The tables counted again from the files, and compared with the manifest and with each
//! other.

mod captures;
mod comparison;
mod decisions;
mod fates;
mod games;
mod moves;
mod players;
mod sides;
mod spells;
mod tables;
mod totals;
mod turns;
mod unlisted;

use std::path::Path;

use hobble_terms::account::Account;
use hobble_terms::manifest::Manifest;

pub use comparison::Comparison;
pub use unlisted::unlisted_files;

use crate::error::Error;
use crate::part;

/// The result of a recount.
#[derive(Debug, Default)]
pub struct Recount {
    /// What was compared.
    pub comparisons: Vec<Comparison>,
    /// Games and plies by the tables.
    pub account: Account,
    /// Games that share their start and moves with another game.
    pub repeats: u64,
}

impl Recount {
    /// Counts the tables of a folder again.
    ///
    /// # Errors
    ///
    /// Where a file that the manifest names cannot be read, or is not as its table is declared.
    pub fn of(folder: &Path, manifest: &Manifest) -> Result<Recount, Error> {
        part::verify(folder, manifest, false)?;
        let totals = tables::count(folder, manifest)?;
        Ok(Recount {
            comparisons: comparison::compare(manifest, &totals),
            repeats: totals.repeats(),
            account: totals.account,
        })
    }
}
