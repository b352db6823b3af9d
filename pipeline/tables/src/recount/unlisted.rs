//! Files of tables that no manifest names.

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};

use hobble_terms::Table;
use hobble_terms::manifest::Manifest;
use hobble_terms::table::ALL_SOURCES;

use crate::error::Error;

/// Files in the folders of the tables that the manifest does not name, sorted; paths in the
/// folder.
///
/// # Errors
///
/// Where a folder cannot be listed.
pub fn unlisted_files(folder: &Path, manifest: &Manifest) -> Result<Vec<PathBuf>, Error> {
    let mut known = HashSet::new();
    for source in &manifest.sources {
        for part in &source.parts {
            for table in part.tables.keys() {
                known.insert(table.part_file(folder, &source.source, part.part));
            }
        }
    }
    let of_all = manifest.files_of_all();
    known.extend(of_all.map(|(table, file)| table.part_file(folder, ALL_SOURCES, file.part)));
    let mut unlisted = Vec::new();
    for table in Table::ALL {
        for source in list(&table.folder(folder))? {
            let files = list(&source)?.into_iter();
            unlisted.extend(files.filter(|file| !known.contains(file)));
        }
    }
    let in_folder = |file: &PathBuf| file.strip_prefix(folder).unwrap_or(file).to_owned();
    let mut unlisted: Vec<_> = unlisted.iter().map(in_folder).collect();
    unlisted.sort();
    Ok(unlisted)
}

/// What is in a folder; nothing where there is none.
fn list(folder: &Path) -> Result<Vec<PathBuf>, Error> {
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let entries = fs::read_dir(folder).map_err(Error::read(folder))?;
    entries
        .map(|entry| entry.map(|entry| entry.path()).map_err(Error::read(folder)))
        .collect()
}
