//! The tables of a scan: a folder with a manifest and one folder a table and source.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use hobble_terms::Table;
use hobble_terms::manifest::{Manifest, Parameters};
use hobble_terms::table::{ALL_SOURCES, source_of_folder};

use crate::chosen_sides::{ChosenSides, ChosenSummary};
use crate::error::DatasetError;
use crate::part::{Part, PartId};
use crate::summary::DatasetSummary;

/// A dataset opened for questions. Nothing of the tables is read until a question asks.
#[derive(Debug, Clone)]
pub struct Dataset {
    dir: PathBuf,
    /// What the folder holds.
    manifest: Arc<Manifest>,
    summary: DatasetSummary,
    /// The parts of each table that the manifest names.
    parts: BTreeMap<Table, BTreeSet<PartId>>,
    /// Sources with folders of their own that the manifest does not name.
    unfinished: Vec<String>,
    /// The sides whose rows are read; `None` for all.
    chosen: Option<Arc<ChosenSides>>,
    /// Width of the rating bands that are read, in points; `None` for that of the tables.
    bands: Option<u16>,
    /// Tables that count as there though no folder of them is; `None` where folders say.
    there: Option<BTreeSet<Table>>,
    /// Whether it is of some parts of the tables.
    partial: bool,
}

impl Dataset {
    /// Opens the folder a scan wrote.
    ///
    /// Only files that the manifest names are used: others are of a scan that has not
    /// finished.
    ///
    /// # Errors
    ///
    /// Where the folder or its manifest is missing or unreadable, or the tables follow other
    /// definitions.
    pub fn open(dir: impl AsRef<Path>) -> Result<Dataset, DatasetError> {
        let dir = dir.as_ref().to_owned();
        let Some(manifest) = Manifest::load(&dir)? else {
            return Err(DatasetError::NoDataset { dir });
        };
        let unfinished = unnamed_sources(&dir, &manifest)?;
        Ok(Dataset::of(dir, manifest, unfinished))
    }

    /// What a manifest says of tables that are elsewhere: `there` are those that count as written,
    /// `unfinished` the sources left out. No row can be read.
    pub fn of_manifest(
        manifest: Manifest,
        there: BTreeSet<Table>,
        unfinished: Vec<String>,
    ) -> Dataset {
        Dataset {
            there: Some(there),
            ..Dataset::of(PathBuf::new(), manifest, unfinished)
        }
    }

    fn of(dir: PathBuf, manifest: Manifest, unfinished: Vec<String>) -> Dataset {
        let mut parts: BTreeMap<Table, BTreeSet<PartId>> = BTreeMap::new();
        for source in &manifest.sources {
            for part in &source.parts {
                for &table in part.tables.keys() {
                    parts.entry(table).or_default().insert(PartId {
                        source: source.source.clone(),
                        number: part.part,
                    });
                }
            }
        }
        for (table, file) in manifest.files_of_all() {
            parts.entry(table).or_default().insert(PartId {
                source: ALL_SOURCES.to_owned(),
                number: file.part,
            });
        }
        Dataset {
            summary: DatasetSummary::of(&manifest),
            unfinished,
            chosen: None,
            bands: None,
            parts,
            dir,
            manifest: Arc::new(manifest),
            there: None,
            partial: false,
        }
    }

    /// The same tables, of which these parts alone are read.
    #[must_use]
    pub fn of_parts(&self, ids: &[PartId]) -> Dataset {
        let mut narrowed = self.clone();
        let wanted: BTreeSet<&PartId> = ids.iter().collect();
        for of_table in narrowed.parts.values_mut() {
            of_table.retain(|id| wanted.contains(id));
        }
        narrowed
    }

    /// The same tables with what was looked at of them, where that is known.
    #[must_use]
    pub fn with_chosen(mut self, chosen: Option<ChosenSummary>) -> Dataset {
        if chosen.is_some() {
            self.parts.remove(&Table::Exposure);
        }
        self.summary.chosen = chosen;
        self
    }

    /// The same, where some parts of the tables are left out of it.
    #[must_use]
    pub fn with_partial(mut self, partial: bool) -> Dataset {
        self.partial = partial;
        self
    }

    /// Whether some parts of the tables are left out.
    pub fn partial(&self) -> bool {
        self.partial
    }

    /// The manifest.
    pub fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// The same tables, of which the rows of these sides alone are read; without the cube, whose
    /// rows are of many games.
    #[must_use]
    pub fn of_sides(&self, chosen: ChosenSides) -> Dataset {
        let mut narrowed = self.clone();
        narrowed.parts.remove(&Table::Exposure);
        narrowed.summary.chosen = Some(chosen.summary().clone());
        narrowed.chosen = Some(Arc::new(chosen));
        narrowed
    }

    /// The same tables with rating bands of this width in points, each of which holds whole bands of
    /// theirs.
    ///
    /// # Errors
    ///
    /// Where the width is not a multiple of theirs.
    pub fn of_bands(&self, width: u16) -> Result<Cow<'_, Dataset>, DatasetError> {
        let theirs = self.manifest.parameters.band_width;
        if width == self.band_width() {
            return Ok(Cow::Borrowed(self));
        }
        if theirs == 0 || !width.is_multiple_of(theirs) {
            return Err(DatasetError::Bands {
                dir: self.dir.clone(),
                theirs,
                width,
            });
        }
        Ok(Cow::Owned(Dataset {
            bands: (width != theirs).then_some(width),
            ..self.clone()
        }))
    }

    /// Width of the rating bands that are read, in points.
    pub fn band_width(&self) -> u16 {
        self.bands.unwrap_or(self.manifest.parameters.band_width)
    }

    /// Version of the definitions the tables follow.
    pub fn definitions(&self) -> u32 {
        self.manifest.definitions
    }

    /// What the manifest says of the archive files.
    pub fn summary(&self) -> &DatasetSummary {
        &self.summary
    }

    /// Sources that stand in the folder but not in the manifest, and are left out.
    pub fn unfinished(&self) -> &[String] {
        &self.unfinished
    }

    /// Whether the manifest says that every source was read to its end.
    pub fn complete(&self) -> bool {
        self.manifest.complete
    }

    /// Parameters of the scan.
    pub fn parameters(&self) -> &Parameters {
        &self.manifest.parameters
    }

    /// Whether the scan wrote a table, and the folder has it.
    pub fn has(&self, table: Table) -> bool {
        let Some(parts) = self.parts.get(&table) else {
            return false;
        };
        match &self.there {
            Some(there) => there.contains(&table),
            // A copy may go without whole tables that a question can do without. Some parts may have
            // no row of a table.
            None => parts.is_empty() || table.folder(&self.dir).exists(),
        }
    }

    /// The parts that any of these tables has by the manifest, in order, whether their files are
    /// there or not.
    pub fn named_parts(&self, tables: &[Table]) -> Vec<PartId> {
        let of_tables = tables.iter().filter_map(|table| self.parts.get(table));
        let ids: BTreeSet<&PartId> = of_tables.flatten().collect();
        ids.into_iter().cloned().collect()
    }

    /// The files of these tables by the manifest, as paths within the folder.
    pub fn named_files(&self, tables: &[Table]) -> Vec<PathBuf> {
        let mut files = Vec::new();
        for &table in tables {
            let ids = self.parts.get(&table).into_iter().flatten();
            files.extend(ids.map(|id| table.part_file(Path::new(""), &id.source, id.number)));
        }
        files
    }

    /// The files of a table, in the order of their parts.
    ///
    /// # Errors
    ///
    /// Where the table was not written, or a file of it is not there.
    pub fn parts(&self, table: Table) -> Result<Vec<Part>, DatasetError> {
        let Some(ids) = self.parts.get(&table) else {
            return Err(DatasetError::NoTable {
                dir: self.dir.clone(),
                table,
            });
        };
        if self.there.is_some() {
            return Ok(Vec::new());
        }
        let parts: Vec<Part> = ids.iter().map(|id| self.open_part(table, id)).collect();
        match parts.iter().find(|part| !part.path().exists()) {
            Some(missing) => Err(DatasetError::NoPart {
                path: missing.path().to_owned(),
            }),
            None => Ok(parts),
        }
    }

    /// The parts that any of these tables has, in order; `optional` tables may be missing.
    ///
    /// # Errors
    ///
    /// Where another table was not written, or a file of any of them is not there.
    pub fn part_ids(
        &self,
        tables: &[Table],
        optional: &[Table],
    ) -> Result<Vec<PartId>, DatasetError> {
        let mut ids = BTreeSet::new();
        let written = optional.iter().filter(|table| self.has(**table));
        for &table in tables.iter().chain(written) {
            ids.extend(self.parts(table)?.into_iter().map(|part| part.id().clone()));
        }
        Ok(ids.into_iter().collect())
    }

    /// The file of a part in a table, if there is one. What it keeps in memory of the file
    /// goes with it.
    pub fn part(&self, table: Table, id: &PartId) -> Option<Part> {
        let is_here = self.there.is_none() && self.has(table);
        let ids = self.parts.get(&table).filter(|_| is_here)?;
        ids.contains(id).then(|| self.open_part(table, id))
    }

    fn open_part(&self, table: Table, id: &PartId) -> Part {
        let mut part = Part::new(table, &self.dir, id.clone());
        if let Some(width) = self.bands {
            part = part.of_bands(width);
        }
        match &self.chosen {
            Some(chosen) => part.of_sides(chosen.of_source(&id.source)),
            None => part,
        }
    }
}

/// Sources that have a folder in any table and are not in the manifest, sorted.
fn unnamed_sources(dir: &Path, manifest: &Manifest) -> Result<Vec<String>, DatasetError> {
    let named: BTreeSet<&str> = manifest
        .sources
        .iter()
        .map(|source| source.source.as_str())
        .chain(manifest.files_of_all().map(|_| ALL_SOURCES))
        .collect();
    let mut unnamed = BTreeSet::new();
    for folder in folders(dir)? {
        if name(&folder).and_then(Table::of_folder).is_none() {
            continue;
        }
        for folder in folders(&folder)? {
            let source = name(&folder).and_then(source_of_folder);
            unnamed.extend(
                source
                    .filter(|source| !named.contains(source))
                    .map(str::to_owned),
            );
        }
    }
    Ok(unnamed.into_iter().collect())
}

fn name(path: &Path) -> Option<&str> {
    path.file_name()?.to_str()
}

fn folders(dir: &Path) -> Result<Vec<PathBuf>, DatasetError> {
    let failed = |source| DatasetError::Folder {
        dir: dir.to_owned(),
        source,
    };
    let mut folders = Vec::new();
    for entry in fs::read_dir(dir).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if path.is_dir() {
            folders.push(path);
        }
    }
    Ok(folders)
}

#[cfg(test)]
mod tests {
    use hobble_terms::account::Account;
    use hobble_terms::manifest::{self, ManifestError, Size, Source};

    use super::*;

    /// A source whose parts have these numbers, all of them with a table of exposure.
    fn source(name: &str, parts: &[u64]) -> Source {
        let part = |&part: &u64| manifest::Part {
            part,
            tables: BTreeMap::from([(Table::Exposure, Size::default())]),
            ..manifest::Part::default()
        };
        Source {
            source: name.to_owned(),
            parts: parts.iter().map(part).collect(),
            ..Source::default()
        }
    }

    fn manifest(sources: Vec<Source>) -> Manifest {
        Manifest {
            sources,
            ..Manifest::new(hand_made_tables::parameters(), BTreeMap::new())
        }
    }

    #[test]
    fn sources_add_up() {
        let account = |read, kept, skipped: &[(&str, u64)]| Account {
            read,
            kept,
            skipped: skipped
                .iter()
                .map(|&(why, n)| (why.to_owned(), n))
                .collect(),
            ..Account::default()
        };
        let (mut a, mut b) = (source("a", &[]), source("b", &[]));
        a.account = account(5, 3, &[("broken", 1), ("variant", 1)]);
        b.account = account(2, 1, &[("broken", 1)]);
        let summary = DatasetSummary::of(&manifest(vec![a, b]));
        assert_eq!((summary.read, summary.kept, summary.skipped), (7, 4, 3));
        assert_eq!(summary.skipped_by_reason["broken"], 2);
        assert_eq!(summary.sources[1].sha256, "");
    }

    /// A source or part that the manifest does not name is of a scan that was broken off.
    #[test]
    fn unnamed_parts_are_left_out() {
        let dir = tempfile::tempdir().unwrap();
        let write = |source, part| {
            let path = Table::Exposure.part_file(dir.path(), source, part);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(&path, "").unwrap();
            fs::write(path.with_file_name("notes.txt"), "").unwrap();
        };
        for (source, part) in [("a", 0), ("a", 1), ("b", 0), ("c", 0)] {
            write(source, part);
        }
        let sources = vec![source("b", &[0]), source("a", &[0])];
        manifest(sources).save(dir.path()).unwrap();
        let dataset = Dataset::open(dir.path()).unwrap();
        let parts = dataset.parts(Table::Exposure).unwrap();
        let ids: Vec<String> = parts.iter().map(|part| part.id().to_string()).collect();
        assert_eq!(ids, ["part 0 of a", "part 0 of b"]);
        assert_eq!(dataset.unfinished(), ["c"]);
        assert!(!dataset.complete());
        let unknown = PartId {
            source: "a".to_owned(),
            number: 1,
        };
        assert!(dataset.part(Table::Exposure, &unknown).is_none());
    }

    #[test]
    fn what_is_missing_is_named() {
        let dir = tempfile::tempdir().unwrap();
        let missing = Dataset::open(dir.path()).unwrap_err();
        assert!(matches!(missing, DatasetError::NoDataset { .. }));
        manifest(vec![source("a", &[0])]).save(dir.path()).unwrap();
        let dataset = Dataset::open(dir.path()).unwrap();
        // Without a folder it is missing where it is needed, and not asked where it is not.
        assert!(!dataset.has(Table::Exposure) && !dataset.has(Table::Games));
        assert!(
            dataset
                .part_ids(&[], &[Table::Exposure])
                .unwrap()
                .is_empty()
        );
        fs::create_dir(Table::Exposure.folder(dir.path())).unwrap();
        assert!(dataset.has(Table::Exposure));
        let no_table = dataset.parts(Table::Games).unwrap_err();
        assert!(matches!(
            no_table,
            DatasetError::NoTable {
                table: Table::Games,
                ..
            }
        ));
        let no_part = dataset
            .part_ids(&[Table::Exposure], &[Table::Games])
            .unwrap_err();
        assert!(matches!(no_part, DatasetError::NoPart { .. }));
        fs::write(dir.path().join(manifest::FILE), r#"{"definitions": 99}"#).unwrap();
        assert!(matches!(
            Dataset::open(dir.path()).unwrap_err(),
            DatasetError::Manifest(ManifestError::Definitions { theirs: 99, .. })
        ));
        fs::write(dir.path().join(manifest::FILE), "nonsense").unwrap();
        assert!(matches!(
            Dataset::open(dir.path()).unwrap_err(),
            DatasetError::Manifest(ManifestError::Broken { .. })
        ));
    }
}
