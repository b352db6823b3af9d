//! The tables of a scan: a folder with a manifest and one folder a table and source.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use serde_json::Value as Json;

use crate::error::DatasetError;
use crate::part::{Part, PartId, part_number};

/// The tables a scan writes.
const TABLES: [&str; 5] = ["games", "moves", "spells", "exposure", "skipped"];

/// What the tables were made from, as the manifest tells it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DatasetSummary {
    /// Version of the program that made the tables; empty where the manifest does not say.
    pub hobble: String,
    /// Archive files, in the manifest's order.
    pub sources: Vec<SourceSummary>,
    /// Games read, of all files.
    pub read: u64,
    /// Games kept, of all files.
    pub kept: u64,
    /// Games skipped, of all files.
    pub skipped: u64,
    /// Games skipped by reason, of all files.
    pub skipped_by_reason: BTreeMap<String, u64>,
}

/// One archive file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
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
    /// Games skipped, by reason.
    pub skipped: BTreeMap<String, u64>,
}

/// Parts by table and source.
type Parts = BTreeMap<&'static str, BTreeMap<String, Vec<Part>>>;

/// A dataset opened for questions. Nothing of the tables is read until a question asks.
#[derive(Debug, Clone)]
pub struct Dataset {
    dir: PathBuf,
    definitions: u32,
    summary: DatasetSummary,
    /// Parts by table and source.
    parts: Parts,
    /// Sources with folders of their own that the manifest does not name.
    unfinished: Vec<String>,
    /// Whether the manifest says that every source was read to its end.
    complete: bool,
    /// What the scan was asked with, as the manifest tells it.
    parameters: Json,
    /// By table, the files that the manifest names, as source and number of the part.
    files: BTreeMap<String, Vec<(String, u64)>>,
}

impl Dataset {
    /// Opens the folder a scan wrote.
    ///
    /// Only sources and parts that the manifest names are used: others are of a scan that has
    /// not finished.
    ///
    /// # Errors
    ///
    /// Where the folder or its manifest is missing or unreadable, or the tables follow other
    /// definitions.
    pub fn open(dir: impl AsRef<Path>) -> Result<Dataset, DatasetError> {
        let dir = dir.as_ref().to_owned();
        let file = dir.join("manifest.json");
        let text = match fs::read_to_string(&file) {
            Ok(text) => text,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                return Err(DatasetError::NoDataset {
                    dir,
                    file: "manifest.json",
                });
            }
            Err(source) => return Err(DatasetError::ManifestFile { file, source }),
        };
        let Manifest {
            definitions,
            summary,
            named,
            complete,
            parameters,
            files,
        } = read_manifest(&text).map_err(|what| DatasetError::Manifest {
            file: file.clone(),
            what,
        })?;
        if definitions != hobble_terms::DEFINITIONS {
            return Err(DatasetError::Definitions {
                path: file,
                found: definitions,
                expected: hobble_terms::DEFINITIONS,
            });
        }
        let mut parts = list_parts(&dir)?;
        let mut unfinished = Vec::new();
        for sources in parts.values_mut() {
            sources.retain(|source, of_source| {
                let Some(parts) = named.get(source) else {
                    unfinished.push(source.clone());
                    return false;
                };
                if let Some(parts) = parts {
                    let named =
                        |part: &Part| part_number(part.path()).is_some_and(|n| parts.contains(&n));
                    of_source.retain(named);
                }
                true
            });
        }
        unfinished.sort();
        unfinished.dedup();
        Ok(Dataset {
            dir,
            definitions,
            summary,
            parts,
            unfinished,
            complete,
            parameters,
            files,
        })
    }

    /// Version of the definitions the tables follow.
    pub fn definitions(&self) -> u32 {
        self.definitions
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
        self.complete
    }

    /// A parameter of the scan, as the manifest tells it; null where it does not.
    pub fn parameter(&self, name: &str) -> &Json {
        &self.parameters[name]
    }

    /// Whether a table has any part.
    pub fn has(&self, table: &str) -> bool {
        self.parts
            .get(table)
            .is_some_and(|sources| sources.values().any(|parts| !parts.is_empty()))
    }

    /// The parts of a table, source by source, sorted.
    ///
    /// # Errors
    ///
    /// Where the table is missing, or a file of it that the manifest names.
    pub fn parts(&self, table: &'static str) -> Result<Vec<Part>, DatasetError> {
        for (source, number) in self.files.get(table).into_iter().flatten() {
            let path = self
                .dir
                .join(format!("table={table}"))
                .join(format!("source={source}"))
                .join(format!("part-{number:05}.parquet"));
            let listed = self
                .parts
                .get(table)
                .and_then(|sources| sources.get(source));
            if !listed.is_some_and(|parts| parts.iter().any(|part| part.path() == path)) {
                return Err(DatasetError::NoPart { path });
            }
        }
        let sources = self.parts.get(table).into_iter().flatten();
        let parts: Vec<Part> = sources.flat_map(|(_, parts)| parts).cloned().collect();
        if parts.is_empty() {
            return Err(DatasetError::NoTable {
                dir: self.dir.clone(),
                table,
            });
        }
        Ok(parts)
    }

    /// The parts that any of these tables has, in order; `optional` tables may be missing.
    ///
    /// # Errors
    ///
    /// Where another table is missing, or a file of any of them that the manifest names.
    pub fn part_ids(
        &self,
        tables: &[&'static str],
        optional: &[&'static str],
    ) -> Result<Vec<PartId>, DatasetError> {
        let mut ids = BTreeSet::new();
        let there = optional.iter().filter(|table| self.has(table));
        for table in tables.iter().chain(there) {
            ids.extend(self.parts(table)?.iter().map(Part::id));
        }
        Ok(ids.into_iter().collect())
    }

    /// The file of a part in a table, if there is one.
    pub fn part(&self, table: &str, id: &PartId) -> Option<&Part> {
        let parts = self.parts.get(table)?.get(&id.source)?;
        parts
            .iter()
            .find(|part| part_number(part.path()) == Some(id.number))
    }
}

/// What is read of a manifest.
#[derive(Debug)]
struct Manifest {
    definitions: u32,
    summary: DatasetSummary,
    /// By source, the numbers of its parts where they are listed.
    named: BTreeMap<String, Option<BTreeSet<u64>>>,
    complete: bool,
    parameters: Json,
    files: BTreeMap<String, Vec<(String, u64)>>,
}

/// Reads a manifest leniently: what is not there counts as nothing, but a manifest without
/// definitions or sources is none.
fn read_manifest(text: &str) -> Result<Manifest, String> {
    let manifest: Json =
        serde_json::from_str(text).map_err(|error| format!("invalid JSON: {error}"))?;
    let definitions = manifest["definitions"]
        .as_u64()
        .and_then(|version| u32::try_from(version).ok())
        .ok_or("\"definitions\" is missing or no version number")?;
    let listed = manifest["sources"]
        .as_array()
        .ok_or("\"sources\" is missing or no list")?;
    let mut summary = DatasetSummary {
        hobble: text_of(&manifest["hobble"]),
        sources: Vec::new(),
        read: 0,
        kept: 0,
        skipped: 0,
        skipped_by_reason: BTreeMap::new(),
    };
    let mut named = BTreeMap::new();
    let mut files: BTreeMap<String, Vec<(String, u64)>> = BTreeMap::new();
    for (index, entry) in listed.iter().enumerate() {
        let name = text_of(&entry["source"]);
        if name.is_empty() {
            return Err(format!("entry {} of \"sources\" has no name", index + 1));
        }
        let parts = entry["parts"].as_array().map(|parts| {
            let numbers = parts.iter().filter_map(|part| part["part"].as_u64());
            numbers.collect::<BTreeSet<u64>>()
        });
        named.insert(name.clone(), parts);
        for part in entry["parts"].as_array().into_iter().flatten() {
            let Some(number) = part["part"].as_u64() else {
                continue;
            };
            for (table, _) in part["tables"].as_object().into_iter().flatten() {
                let of_table = files.entry(table.clone()).or_default();
                of_table.push((name.clone(), number));
            }
        }
        let skipped: BTreeMap<String, u64> = entry["skipped"]
            .as_object()
            .map(|reasons| {
                reasons
                    .iter()
                    .map(|(reason, count)| (reason.clone(), count.as_u64().unwrap_or(0)))
                    .collect()
            })
            .unwrap_or_default();
        let source = SourceSummary {
            source: name,
            file: text_of(&entry["file"]),
            sha256: text_of(&entry["sha256"]),
            read: entry["read"].as_u64().unwrap_or(0),
            kept: entry["kept"].as_u64().unwrap_or(0),
            skipped,
        };
        summary.read += source.read;
        summary.kept += source.kept;
        for (reason, count) in &source.skipped {
            summary.skipped += count;
            *summary.skipped_by_reason.entry(reason.clone()).or_default() += count;
        }
        summary.sources.push(source);
    }
    Ok(Manifest {
        definitions,
        summary,
        named,
        complete: manifest["complete"].as_bool().unwrap_or(true),
        parameters: manifest["parameters"].clone(),
        files,
    })
}

fn text_of(value: &Json) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

/// The parts of `table=…/source=…`, sorted.
fn list_parts(dir: &Path) -> Result<Parts, DatasetError> {
    let mut tables = BTreeMap::new();
    for (name, table_dir) in named_folders(dir, "table=")? {
        let Some(table) = TABLES.into_iter().find(|table| *table == name) else {
            continue;
        };
        let mut sources = BTreeMap::new();
        for (source, source_dir) in named_folders(&table_dir, "source=")? {
            let mut paths: Vec<PathBuf> = entries(&source_dir)?
                .into_iter()
                .filter(|path| part_number(path).is_some())
                .collect();
            paths.sort_by_key(|path| part_number(path));
            let part = |path: &PathBuf| Part::new(table, &source, path);
            sources.insert(source.clone(), paths.iter().map(part).collect());
        }
        tables.insert(table, sources);
    }
    Ok(tables)
}

fn named_folders(dir: &Path, prefix: &str) -> Result<Vec<(String, PathBuf)>, DatasetError> {
    Ok(entries(dir)?
        .into_iter()
        .filter_map(|path| {
            let name = path.file_name()?.to_str()?.strip_prefix(prefix)?.to_owned();
            path.is_dir().then_some((name, path))
        })
        .collect())
}

fn entries(dir: &Path) -> Result<Vec<PathBuf>, DatasetError> {
    let failed = |source| DatasetError::Folder {
        dir: dir.to_owned(),
        source,
    };
    fs::read_dir(dir)
        .map_err(failed)?
        .map(|entry| entry.map(|entry| entry.path()).map_err(failed))
        .collect()
}

#[cfg(test)]
mod tests {
    use hobble_terms::DEFINITIONS;

    use super::*;

    #[test]
    fn manifest_adds_up() {
        let Manifest {
            definitions,
            summary,
            ..
        } = read_manifest(
            r#"{"hobble": "0.1.0", "definitions": 1, "sources": [
                {"source": "a", "file": "a.pgn", "sha256": "ab", "read": 5, "kept": 3,
                 "skipped": {"broken": 1, "variant": 1}},
                {"source": "b", "read": 2, "kept": 1, "skipped": {"broken": 1}}]}"#,
        )
        .unwrap();
        assert_eq!(definitions, 1);
        assert_eq!((summary.read, summary.kept, summary.skipped), (7, 4, 3));
        assert_eq!(summary.skipped_by_reason["broken"], 2);
        assert_eq!(summary.sources[1].file, "");
    }

    /// A source or part that the manifest does not name is of a scan that was broken off.
    #[test]
    fn unnamed_parts_are_left_out() {
        let dir = tempfile::tempdir().unwrap();
        for (source, part) in [("a", 0), ("a", 1), ("b", 0), ("c", 0)] {
            let folder = dir.path().join(format!("table=exposure/source={source}"));
            fs::create_dir_all(&folder).unwrap();
            fs::write(folder.join(format!("part-{part:05}.parquet")), "").unwrap();
            fs::write(folder.join("notes.txt"), "").unwrap();
        }
        let manifest = r#"{"definitions": VERSION, "complete": false, "sources": [
            {"source": "a", "parts": [{"part": 0}]}, {"source": "b"}]}"#;
        let manifest = manifest.replace("VERSION", &DEFINITIONS.to_string());
        fs::write(dir.path().join("manifest.json"), manifest).unwrap();
        let dataset = Dataset::open(dir.path()).unwrap();
        let parts = dataset.parts("exposure").unwrap();
        let sources: Vec<&str> = parts.iter().map(|part| part.source.as_str()).collect();
        assert_eq!(sources, ["a", "b"]);
        assert_eq!(part_number(parts[0].path()), Some(0));
        assert_eq!(dataset.unfinished(), ["c"]);
        assert!(!dataset.complete());
    }

    #[test]
    fn manifest_that_is_none() {
        assert!(
            read_manifest("nonsense")
                .unwrap_err()
                .starts_with("invalid JSON")
        );
        assert!(read_manifest("{}").unwrap_err().contains("definitions"));
        assert!(
            read_manifest(r#"{"definitions": 1}"#)
                .unwrap_err()
                .contains("sources")
        );
        let unnamed = read_manifest(r#"{"definitions": 1, "sources": [{}]}"#).unwrap_err();
        assert_eq!(unnamed, "entry 1 of \"sources\" has no name");
    }

    #[test]
    fn folders_that_are_none() {
        let dir = tempfile::tempdir().unwrap();
        let missing = Dataset::open(dir.path()).unwrap_err();
        assert!(matches!(missing, DatasetError::NoDataset { .. }));
        fs::write(
            dir.path().join("manifest.json"),
            r#"{"definitions": 99, "sources": []}"#,
        )
        .unwrap();
        let other = Dataset::open(dir.path()).unwrap_err();
        assert!(matches!(other, DatasetError::Definitions { found: 99, .. }));
        fs::write(
            dir.path().join("manifest.json"),
            format!(r#"{{"definitions": {DEFINITIONS}, "sources": []}}"#),
        )
        .unwrap();
        let empty = Dataset::open(dir.path()).unwrap();
        assert!(!empty.has("exposure"));
        assert!(matches!(
            empty.parts("exposure"),
            Err(DatasetError::NoTable { .. })
        ));
    }
}
