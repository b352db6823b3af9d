//! Every column of every CSV and Parquet file that leaves the program stands in the codebook, in its
//! order.

mod common;

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::Path;

use common::{hobble, repository, scan, sorted};
use hobble_tables::schema::describe;
use hobble_terms::Table;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

/// The columns of each file, as the codebook lists them.
fn codebook() -> BTreeMap<String, Vec<String>> {
    let text = stdout(&["codebook"], None);
    let mut reader = csv::Reader::from_reader(text.as_slice());
    let mut files: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for row in reader.records() {
        let row = row.expect("a line of the codebook");
        assert!(!row[2].is_empty() && !row[5].is_empty(), "{row:?}");
        assert!(row[6].ends_with('.'), "{row:?}");
        let columns = files.entry(row[0].to_owned()).or_default();
        assert!(!columns.contains(&row[1].to_owned()), "{row:?}: twice");
        columns.push(row[1].to_owned());
    }
    files
}

fn stdout(arguments: &[&str], data: Option<&Path>) -> Vec<u8> {
    let mut command = hobble();
    command.args(arguments);
    if let Some(data) = data {
        command.arg("--data").arg(data);
    }
    let output = command.output().expect("the program runs");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {said}");
    output.stdout
}

fn heading(text: &[u8]) -> Vec<String> {
    let mut reader = csv::Reader::from_reader(text);
    let names = reader.headers().expect("a heading");
    names.iter().map(str::to_owned).collect()
}

fn of_parquet(path: &Path) -> Vec<String> {
    let file = File::open(path).expect("a file opens");
    let builder = ParquetRecordBatchReaderBuilder::try_new(file).expect("a file is Parquet");
    let fields = builder.schema().fields().iter();
    fields.map(|field| field.name().clone()).collect()
}

/// The tables of the invented season.
fn season() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let archive = repository("small-sample/season.pgn");
    scan(&[&archive], folder.path(), &[]);
    folder
}

#[test]
fn tables() {
    let folder = season();
    let codebook = codebook();
    let mut seen = 0;
    for table in sorted(folder.path())
        .into_iter()
        .filter(|path| path.is_dir())
    {
        let name = table
            .file_name()
            .and_then(|name| name.to_str())
            .expect("a name");
        let mut columns = of_parquet(&sorted(&sorted(&table)[0])[0]);
        let table = Table::from_name(name).expect("a table");
        let derived = describe(table).derived.iter();
        columns.extend(derived.map(|derived| derived.column.name.to_owned()));
        columns.push("source".to_owned());
        assert_eq!(columns, codebook[name], "{name}");
        seen += 1;
    }
    assert_eq!(seen, 9);
}

#[test]
fn answers_of_every_sort() {
    let folder = season();
    let codebook = codebook();
    let player: &[&str] = &["--player", "Windlass, Orla"];
    // No search for positions comes with the program.
    let search = folder.path().join("search.toml");
    let text = "format = 1\nabout = \"positions\"\ntitle = \"T\"\ntext = \"x\"\n";
    std::fs::write(&search, text).expect("the folder can be written to");
    let search = search.to_str().expect("a path in Unicode");
    let questions: [(&str, &str, &[&str]); 6] = [
        ("held-piece-lost", "comparison.csv", &[]),
        ("knight-restrained-by-pawn", "claim.csv", &[]),
        ("scope-of-a-side", "sides.csv", &[]),
        ("restraint-by-band", "bands.csv", &[]),
        ("own-habits", "player.csv", player),
        (search, "positions.csv", &[]),
    ];
    let sorts = codebook.keys().filter(|file| file.ends_with(".csv"));
    assert_eq!(
        sorts.count(),
        questions.len() + 2,
        "a sort is not asked: {:?}",
        codebook.keys()
    );
    for (question, file, more) in questions {
        let arguments = [&["ask", question, "--format", "csv"], more].concat();
        let columns = heading(&stdout(&arguments, Some(folder.path())));
        // A comparison has the keys it groups by alone.
        let mut listed = codebook[file].iter();
        for column in &columns {
            assert!(
                listed.any(|name| name == column),
                "{file}: {column} in {columns:?}"
            );
        }
        let all = codebook[file].len();
        assert!(
            columns.len() == all || file == "comparison.csv",
            "{file}: {columns:?}"
        );
    }
    let path = folder.path().join("bands.parquet");
    let out = path.to_str().expect("a path");
    let arguments = [
        "ask",
        "restraint-by-band",
        "--format",
        "parquet",
        "--out",
        out,
    ];
    stdout(&arguments, Some(folder.path()));
    assert_eq!(of_parquet(&path), codebook["bands.csv"]);
    let path = folder.path().join("norms.parquet");
    let out = path.to_str().expect("a path");
    stdout(&["norms", "--out", out], Some(folder.path()));
    assert_eq!(of_parquet(&path), codebook["norms.parquet"]);
}

#[test]
fn league_keys_and_lists() {
    let folder = tempfile::tempdir().expect("a folder");
    let archive = repository("small-sample/season.pgn");
    let data = folder.path().join("data");
    scan(&[&archive], &data, &[]);
    let codebook = codebook();
    let of = |name: &str| {
        folder
            .path()
            .join(name)
            .to_str()
            .expect("a path")
            .to_owned()
    };
    stdout(&["sift", "--out", &of("sift")], Some(&data));
    let league = fs::read(folder.path().join("sift/league.csv")).expect("a league");
    // Without a claim there is no heading.
    if !league.is_empty() {
        assert_eq!(heading(&league), codebook["league.csv"]);
    }
    let archive = archive.to_str().expect("a path");
    stdout(&["keys", archive, "--out", &of("keys")], None);
    let keys = sorted(&folder.path().join("keys"));
    assert_eq!(of_parquet(&keys[0]), codebook["keys.parquet"]);
    let file = keys[0].to_str().expect("a path");
    stdout(&["repeats", file, "--out", &of("lists")], None);
    let list = fs::read(&sorted(&folder.path().join("lists"))[0]).expect("a list");
    // Below the line that names the pass.
    let pass = list.iter().position(|&byte| byte == b'\n').expect("lines");
    assert_eq!(heading(&list[pass + 1..]), codebook["repeats.csv"]);
}
