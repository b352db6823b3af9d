//! The folder a scan writes into: locked, and made with the same parameters before.

use std::fs::{File, TryLockError};
use std::path::Path;

use hobble_terms::Table;
use hobble_terms::manifest::{Manifest, Parameters, Source, Stripe};
use hobble_terms::table::ALL_SOURCES;

use crate::error::Error;
use crate::schema::describe;

/// Keeps other scans from writing into the folder while the file is open.
pub(crate) fn lock(folder: &Path) -> Result<File, Error> {
    let path = folder.join(".lock");
    let file = File::create(&path).map_err(Error::write(&path))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(Error::Locked {
            folder: folder.to_owned(),
        }),
        Err(TryLockError::Error(error)) => Err(Error::write(&path)(error)),
    }
}

/// The manifest of the folder, or a new one in an empty folder.
pub(super) fn open(folder: &Path, parameters: &Parameters) -> Result<Manifest, Error> {
    if let Some(manifest) = Manifest::load(folder)? {
        agree(folder, &manifest.parameters, parameters)?;
        return Ok(manifest);
    }
    if Table::ALL.iter().any(|table| table.folder(folder).exists()) {
        return Err(Error::TablesWithoutManifest {
            folder: folder.to_owned(),
        });
    }
    let schemas = Table::ALL.map(|table| (table, describe(table).schema));
    let mut manifest = Manifest::new(parameters.clone(), schemas.into());
    // Saved before the first table: a scan killed right after it is known as one.
    manifest.save(folder)?;
    Ok(manifest)
}

/// Refuses to write into a folder whose tables have other columns than this program writes.
pub(super) fn of_these_schemas(folder: &Path, manifest: &Manifest) -> Result<(), Error> {
    for table in &manifest.parameters.tables {
        let (theirs, ours) = (manifest.schemas.get(table), describe(*table).schema);
        if theirs.is_some_and(|theirs| *theirs != ours) {
            return Err(Error::Schema {
                folder: folder.to_owned(),
                table: *table,
                theirs: theirs.copied().unwrap_or_default(),
                ours,
            });
        }
    }
    Ok(())
}

/// Whether the tables of the folder were made with the parameters of this scan.
fn agree(folder: &Path, theirs: &Parameters, ours: &Parameters) -> Result<(), Error> {
    let names = |p: &Parameters| {
        p.tables
            .iter()
            .map(|t| t.name())
            .collect::<Vec<_>>()
            .join(",")
    };
    let stripe = |p: &Parameters| match p.stripe {
        Some(Stripe { index, of }) => format!("{index}/{of}"),
        None => "0/1 (all parts)".to_owned(),
    };
    let names_of_players = |p: &Parameters| match &p.pseudonyms {
        Some(pseudonyms) => format!("as pseudonyms of key {}", pseudonyms.key_check),
        None => "as they stand".to_owned(),
    };
    type Shown<'a> = &'a dyn Fn(&Parameters) -> String;
    let parameters: [(&'static str, Shown<'_>); 9] = [
        ("tables", &names),
        ("rating band width", &|p| p.band_width.to_string()),
        ("time cuts", &|p| format!("{:?}", p.time_cuts)),
        ("parts of", &|p| {
            format!("{} × {}", p.part_blocks, p.block_bytes)
        }),
        ("a sample of one turn in", &|p| p.sample.to_string()),
        ("repeats", &|p| p.repeats.name().to_owned()),
        ("a list of repeats of SHA-256", &|p| {
            p.repeats_list
                .clone()
                .unwrap_or_else(|| "(none)".to_owned())
        }),
        ("players' names", &names_of_players),
        ("stripe", &stripe),
    ];
    for (what, shown) in parameters {
        let (theirs, ours) = (shown(theirs), shown(ours));
        if theirs != ours {
            return Err(Error::Parameters {
                folder: folder.to_owned(),
                what,
                theirs,
                ours,
            });
        }
    }
    Ok(())
}

/// A name for the folder of a source: of the file's name what is safe in any path, made
/// distinct from those of the other sources.
pub fn source_name(file: &str, others: &[Source]) -> String {
    let base = if file == "-" {
        "stdin"
    } else {
        file.rsplit(['/', '\\']).next().unwrap_or(file)
    };
    let safe = |c: char| {
        let kept = c.is_ascii_alphanumeric() || "._-".contains(c);
        if kept { c } else { '_' }
    };
    let name: String = base.chars().map(safe).take(80).collect();
    let name = match name.trim_start_matches('.') {
        "" => "archive",
        name => name,
    };
    let is_free =
        |name: &String| name != ALL_SOURCES && others.iter().all(|other| other.source != *name);
    let numbered = (2_u64..).map(|n| format!("{name}-{n}"));
    std::iter::once(name.to_owned())
        .chain(numbered)
        .find(is_free)
        .unwrap_or_else(|| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_of_other_columns_are_not_added_to() {
        let folder = tempfile::tempdir().unwrap();
        let parameters = Parameters::default();
        let mut manifest = open(folder.path(), &parameters).unwrap();
        of_these_schemas(folder.path(), &manifest).unwrap();
        *manifest.schemas.get_mut(&Table::Spells).unwrap() -= 1;
        let refused = of_these_schemas(folder.path(), &manifest).unwrap_err();
        let line = refused.to_string();
        assert!(
            line.contains("spells there has schema") && !line.contains('\n'),
            "{line}"
        );
    }

    #[test]
    fn names_of_sources_are_safe_and_distinct() {
        let mut sources = Vec::new();
        for (file, expected) in [
            ("-", "stdin"),
            ("/archive/1999/games.pgn", "games.pgn"),
            ("2000\\games.pgn", "games.pgn-2"),
            ("games.pgn", "games.pgn-3"),
            ("..", "archive"),
            (".hidden é.pgn", "hidden__.pgn"),
            ("all", "all-2"),
        ] {
            let source = source_name(file, &sources);
            assert_eq!(source, expected);
            sources.push(Source {
                source,
                ..Source::default()
            });
        }
    }
}
