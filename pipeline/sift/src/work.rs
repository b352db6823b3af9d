//! From the tables to the league and the claims' files.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use hobble_conditions::counted;
use hobble_dataset::Dataset;
use hobble_report::replace_file;

use crate::SiftError;
use crate::grid::Grid;
use crate::ledger::{Ledger, Opening};
use crate::locked::Sifted;
use crate::search::Found;
use crate::step::Step;

/// Tries the grid on one half of the games, asks the other half what passed, and writes the files
/// of the claims asked into `folder`. The opening is written into the file `ledger` before the half
/// is read.
///
/// # Errors
///
/// Where a table is missing or unreadable, or a file cannot be written.
pub fn sift(
    dataset: &Dataset,
    grid: &Grid,
    folder: &Path,
    ledger: &Path,
) -> Result<Sifted, SiftError> {
    let ledgers = [ledger.to_owned()];
    // A ledger that cannot be read stops before any work.
    readable(&ledgers)?;
    let start = Step::start(grid);
    let search = start.then(counted::answer(&start, dataset)?);
    let locked = search.then(counted::answer(&search, dataset)?);
    write_chosen(folder, &locked)?;
    let sifted = counted::answer(&open(locked, &ledgers)?, dataset)?;
    write(folder, &sifted.files)?;
    Ok(sifted)
}

/// Asks that each of these ledgers can be read.
///
/// # Errors
///
/// Where one cannot.
pub fn readable(ledgers: &[PathBuf]) -> Result<(), SiftError> {
    ledgers
        .iter()
        .try_for_each(|ledger| Ledger::read(ledger).map(drop))
}

/// Writes down that the locked half is opened for the claims that were found, in each of these ledgers; the
/// one with most openings says how often it was. Where no claims were found it stays locked.
///
/// # Errors
///
/// Where a ledger cannot be read or written.
pub fn open(step: Step<Found>, ledgers: &[PathBuf]) -> Result<Step<Found>, SiftError> {
    let claims = step.claims()?;
    if claims.is_empty() {
        return Ok(step);
    }
    let opening = Opening {
        hobble: env!("CARGO_PKG_VERSION").to_owned(),
        grid: step.grid.hash(),
        tried: step.grid.tried().len() as u64,
        claims: claims.iter().map(|claim| claim.claim.hash()).collect(),
        shares: Vec::new(),
    };
    readable(ledgers)?;
    let mut times = None;
    for ledger in ledgers {
        times = times.max(Some(Ledger::add(ledger, opening.clone())?));
    }
    Ok(step.opened(times))
}

/// Writes the files of the claims that the locked half is to be asked.
///
/// # Errors
///
/// Where a file cannot be written.
pub fn write_chosen(folder: &Path, step: &Step<Found>) -> Result<(), SiftError> {
    let claims = step.claims()?.into_iter();
    let files: Vec<_> = claims
        .map(|claim| (claim.file_name(), claim.text.clone()))
        .collect();
    write(folder, &files)?;
    Ok(())
}

/// Writes files of claims, by name and text; their paths.
///
/// # Errors
///
/// Where one cannot be written.
pub fn write(folder: &Path, files: &[(String, String)]) -> Result<Vec<PathBuf>, SiftError> {
    let written = files.iter().map(|(name, text)| {
        let path = folder.join(name);
        match replace_file(&path, |file| file.write_all(text.as_bytes())) {
            Ok(()) => Ok(path),
            Err(source) => Err(SiftError::Write { path, source }),
        }
    });
    written.collect()
}
