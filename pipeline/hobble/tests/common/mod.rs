//! Runs the program and reads its tables.

#![allow(dead_code, reason = "each test file uses its part")]

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use arrow_array::RecordBatch;
use arrow_select::concat::concat_batches;
use parquet::arrow::arrow_reader::{ArrowReaderOptions, ParquetRecordBatchReaderBuilder};

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
            let file = File::open(&part).expect("a part opens");
            let builder = rows_of(file);
            let schema = builder.schema().clone();
            batches.push(RecordBatch::new_empty(schema));
            batches.extend(builder.build().expect("a part is read").map(Result::unwrap));
        }
    }
    concat_batches(&batches[0].schema(), &batches).expect("all parts have one schema")
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
pub fn cube(data: &Path) -> std::collections::BTreeMap<String, Vec<i64>> {
    use arrow_array::cast::AsArray as _;
    use arrow_array::types::Int64Type;
    let batch = table(data, "exposure");
    let schema = batch.schema();
    let first_count = schema.index_of("turns").unwrap();
    let mut cube = std::collections::BTreeMap::new();
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
