//! Runs the program and reads its tables.

#![allow(dead_code, reason = "each test file uses its part")]

pub mod states;

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::Duration;

use arrow_array::cast::AsArray as _;
use arrow_array::types::Int32Type;
use arrow_array::{RecordBatch, UInt32Array};
use arrow_select::concat::concat_batches;
use arrow_select::take::take_record_batch;
use parquet::arrow::arrow_reader::{ArrowReaderOptions, ParquetRecordBatchReaderBuilder};
use serde_json::Value;

/// A file or folder of the repository.
pub fn repository(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(path)
}

/// The program, with a date of its own so that manifests can be compared byte for byte.
pub fn hobble() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hobble"));
    command.env("SOURCE_DATE_EPOCH", "1935565200");
    command
}

/// The tables of a scan that is asked for none in particular.
pub const TABLES: [&str; 9] = [
    "games",
    "moves",
    "spells",
    "turns",
    "decisions",
    "sides",
    "players",
    "exposure",
    "skipped",
];

/// The season of the small sample.
pub fn season() -> PathBuf {
    repository("small-sample/season.pgn")
}

/// A file with a text in a folder.
pub fn file(folder: &Path, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
    let path = folder.join(name);
    fs::write(&path, text).expect("written");
    path
}

/// Every file of a folder of tables with its bytes, the lock aside.
pub fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for path in sorted(&next) {
            if path.is_dir() {
                folders.push(path);
            } else if !path.ends_with(".lock") {
                let name = path.strip_prefix(folder).expect("below").to_owned();
                found.insert(name, fs::read(&path).expect("a file"));
            }
        }
    }
    found
}

/// The manifest of a folder of tables.
pub fn manifest(data: &Path) -> Value {
    let text = fs::read(data.join("manifest.json")).expect("a manifest");
    serde_json::from_slice(&text).expect("JSON")
}

/// Asks that two folders hold the same tables.
pub fn assert_same(a: &Path, b: &Path, what: &str) {
    for name in TABLES {
        assert_eq!(table(a, name), table(b, name), "{what}: {name}");
    }
}

/// Asks that the tables of a folder reconcile.
pub fn check(data: &Path) {
    let check = hobble().arg("check").arg("--data").arg(data).output();
    let check = check.expect("the program runs");
    let said = String::from_utf8_lossy(&check.stdout);
    assert!(check.status.success(), "{said}");
}

/// Asks that a call was refused in one line with some words.
pub fn assert_refused(output: &Output, words: &str) {
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.contains(words), "{said}");
}

/// Joins folders of tables into one.
pub fn gather(folders: &[PathBuf], out: &Path) -> Output {
    hobble()
        .arg("gather")
        .args(folders)
        .arg("--out")
        .arg(out)
        .output()
        .expect("the program runs")
}

/// Scans an archive and kills the scan again and again, `step` milliseconds later each time, until
/// one ends by itself.
pub fn interrupt(archive: &Path, out: &Path, more: &[&str], step: usize) {
    let mut kills = 0;
    for wait in (2..).step_by(step).take(40) {
        let mut child = hobble()
            .arg("scan")
            .arg(archive)
            .arg("--out")
            .arg(out)
            .args(more)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program runs");
        std::thread::sleep(Duration::from_millis(wait));
        if child.try_wait().expect("a state").is_some() {
            break;
        }
        child.kill().expect("killed");
        child.wait().expect("an end");
        kills += 1;
    }
    assert!(kills > 0, "the scan was never caught in the middle");
}

/// Scans archives into a folder and asks for success.
pub fn scan(archives: &[&Path], out: &Path, more: &[&str]) -> Output {
    let output = try_scan(archives, out, more);
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    output
}

/// Scans archives into a folder.
pub fn try_scan(archives: &[&Path], out: &Path, more: &[&str]) -> Output {
    hobble()
        .arg("scan")
        .args(archives)
        .arg("--out")
        .arg(out)
        .args(more)
        .stdin(Stdio::null())
        .output()
        .expect("the program runs")
}

/// A reader of a part, with words as texts.
pub fn rows_of(part: File) -> ParquetRecordBatchReaderBuilder<File> {
    let options = ArrowReaderOptions::new().with_skip_arrow_metadata(true);
    ParquetRecordBatchReaderBuilder::try_new_with_options(part, options).expect("a part is Parquet")
}

/// All rows of a table, in the order of sources and parts.
pub fn table(data: &Path, name: &str) -> RecordBatch {
    let root = data.join(name);
    let mut batches = Vec::new();
    for source in sorted(&root) {
        for part in sorted(&source) {
            batches.push(by_game(&part));
        }
    }
    concat_batches(&batches[0].schema(), &batches).expect("all parts have one schema")
}

/// The rows of a file, by game where they have one: those of a game stand in three places of a row group of
/// `spells`.
pub fn by_game(part: &Path) -> RecordBatch {
    let builder = rows_of(File::open(part).expect("a part opens"));
    let schema = builder.schema().clone();
    let batches: Vec<_> = (builder.build().expect("a part is read"))
        .map(Result::unwrap)
        .collect();
    let rows = concat_batches(&schema, &batches).expect("one schema");
    let Some(games) = rows.column_by_name("game") else {
        return rows;
    };
    let games = games.as_primitive::<Int32Type>().values();
    let mut order: Vec<u32> = (0..rows.num_rows() as u32).collect();
    order.sort_by_key(|&row| games[row as usize]);
    take_record_batch(&rows, &UInt32Array::from(order)).expect("rows of the batch")
}

/// A table without the columns that say where a game stands in its file.
pub fn placeless(data: &Path, name: &str) -> RecordBatch {
    let mut batch = table(data, name);
    for column in ["game", "file", "byte_offset", "line"] {
        if let Ok(index) = batch.schema().index_of(column) {
            batch.remove_column(index);
        }
    }
    batch
}

/// Entries of a folder by name.
pub fn sorted(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<_> = fs::read_dir(folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    paths
}

/// The cube of a folder added up: keys as text, counts.
pub fn cube(data: &Path) -> BTreeMap<String, Vec<i64>> {
    use arrow_array::cast::AsArray as _;
    use arrow_array::types::Int64Type;
    let batch = table(data, "exposure");
    let schema = batch.schema();
    let first_count = schema.index_of("turns").unwrap();
    let mut cube = BTreeMap::new();
    for row in 0..batch.num_rows() {
        let key: Vec<String> = (0..first_count)
            .map(|column| format!("{:?}", batch.column(column).slice(row, 1)))
            .collect();
        let counts = cube
            .entry(key.join("|"))
            .or_insert_with(|| vec![0; batch.num_columns() - first_count]);
        for (count, column) in counts.iter_mut().zip(first_count..) {
            *count += batch.column(column).as_primitive::<Int64Type>().value(row);
        }
    }
    cube
}

/// Bytes of all tables of a folder.
pub fn bytes(data: &Path) -> u64 {
    let mut sum = 0;
    for table in sorted(data).iter().filter(|path| path.is_dir()) {
        for source in sorted(table) {
            let files = sorted(&source).into_iter();
            sum += files
                .map(|file| fs::metadata(file).unwrap().len())
                .sum::<u64>();
        }
    }
    sum
}
