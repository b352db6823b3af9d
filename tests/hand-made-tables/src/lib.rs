//! Writes small folders of tables for the tests, row by row as a test gives them.

#![allow(missing_docs, reason = "fields are named as the columns they fill")]

mod question_file;

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::Path;
use std::sync::Arc;

use arrow_array::{
    ArrayRef, BooleanArray, Float32Array, Int8Array, Int16Array, Int32Array, Int64Array,
    RecordBatch, StringArray, UInt64Array,
};
use hobble_terms::Table;
use hobble_terms::account::Account;
use hobble_terms::manifest::{Contents, Manifest, Parameters, Part, Repeats, Size, Source};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
pub use question_file::{question, refused};

mod chance;
mod decision;
mod turn;

pub use chance::Chance;
pub use decision::{Decision, decisions};
pub use turn::{Turn, turns};

/// A column with its name.
pub type Column = (String, ArrayRef);

/// Values a column can be made of.
pub trait Values {
    fn array(self) -> ArrayRef;
}

macro_rules! values {
    ($($values:ty => $array:ty),+ $(,)?) => {
        $(impl Values for $values {
            fn array(self) -> ArrayRef {
                Arc::new(<$array>::from(self))
            }
        })+
    };
}

values! {
    Vec<i64> => Int64Array,
    Vec<i16> => Int16Array,
    Vec<Option<i16>> => Int16Array,
    Vec<Option<f32>> => Float32Array,
    Vec<bool> => BooleanArray,
    Vec<Option<bool>> => BooleanArray,
    Vec<&str> => StringArray,
    Vec<String> => StringArray,
    Vec<Option<&str>> => StringArray,
}

/// Counts: signed in the tables, as wide as here. Numbers of eight bytes are ids.
macro_rules! counts {
    ($($count:ty => $number:ty, $array:ty);+ $(;)?) => {
        $(
            impl Values for Vec<$count> {
                fn array(self) -> ArrayRef {
                    let numbers = self.into_iter().map(|count| count as $number);
                    Arc::new(<$array>::from_iter_values(numbers))
                }
            }

            impl Values for Vec<Option<$count>> {
                fn array(self) -> ArrayRef {
                    let numbers = self.into_iter().map(|count| Some(count? as $number));
                    Arc::new(numbers.collect::<$array>())
                }
            }
        )+
    };
}

counts! {
    u8 => i8, Int8Array;
    u16 => i16, Int16Array;
    u32 => i32, Int32Array;
    u64 => u64, UInt64Array;
}

/// A column.
pub fn column(name: &str, values: impl Values) -> Column {
    (name.to_owned(), values.array())
}

/// A table of columns.
pub fn table(columns: Vec<Column>) -> RecordBatch {
    RecordBatch::try_from_iter(columns).unwrap()
}

/// A file read back in one piece.
pub fn read(path: &Path) -> RecordBatch {
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(path).unwrap()).unwrap();
    let rows = reader.metadata().file_metadata().num_rows() as usize;
    let mut batches = reader.with_batch_size(rows).build().unwrap();
    batches.next().unwrap().unwrap()
}

/// One row of the exposure cube, with outcomes for the horizon of ten moves; the shorter
/// horizons hold fewer, the longer ones more, so that a mixed-up column shows.
#[derive(Debug, Clone)]
pub struct Exposure {
    pub kind: &'static str,
    pub safe: u8,
    pub developed: bool,
    pub attacked: bool,
    pub defended: bool,
    pub phase: &'static str,
    pub band: &'static str,
    pub time_class: &'static str,
    pub rating_diff: &'static str,
    pub fold: u8,
    pub turns: i64,
    pub lost: i64,
    pub traded: i64,
    pub sold: i64,
    pub over: i64,
}

impl Default for Exposure {
    fn default() -> Self {
        Exposure {
            kind: "knight",
            safe: 1,
            developed: true,
            attacked: false,
            defended: true,
            phase: "middlegame",
            band: "1400-1599",
            time_class: "rapid",
            rating_diff: "-49..49",
            fold: 0,
            turns: 100,
            lost: 10,
            traded: 0,
            sold: 0,
            over: 0,
        }
    }
}

/// Writes one part of a table.
pub fn write(dir: &Path, table: &str, source: &str, part: u32, rows: &RecordBatch) {
    let path = Table::from_name(table)
        .unwrap()
        .part_file(dir, source, part.into());
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    let file = File::create(path).unwrap();
    // Small row groups: everything must hold across their borders. Simulated archives are read
    // too often for that.
    let group = match (table, rows.num_rows()) {
        (_, 1000..) => 500,
        ("exposure", _) => 40,
        _ => 5,
    };
    let version = hobble_terms::DEFINITIONS.to_string();
    let definitions = KeyValue::new("hobble.definitions".to_owned(), version);
    let properties = WriterProperties::builder()
        .set_max_row_group_row_count(Some(group))
        .set_key_value_metadata(Some(vec![definitions]))
        .build();
    let mut writer = ArrowWriter::try_new(file, rows.schema(), Some(properties)).unwrap();
    writer.write(rows).unwrap();
    writer.close().unwrap();
}

/// Writes the manifest, with a number of parts for each source; their tables are those whose
/// files are there.
pub fn manifest(dir: &Path, sources: &[(&str, u32)]) {
    let account = Account {
        read: 10,
        kept: 9,
        skipped: BTreeMap::from([("illegal move".to_owned(), 1)]),
        ..Account::default()
    };
    let part = |source: &str, part: u64| {
        let there = |table: &Table| table.part_file(dir, source, part).exists();
        let tables = Table::ALL.into_iter().filter(there);
        Part {
            part,
            tables: tables.map(|table| (table, Size::default())).collect(),
            // All games in the first one, so that parts add up to the source.
            account: if part == 0 {
                account.clone()
            } else {
                Account::default()
            },
            ..Part::default()
        }
    };
    let source = |&(name, parts): &(&str, u32)| Source {
        source: name.to_owned(),
        file: format!("{name}.pgn"),
        contents: Contents {
            sha256: Some("00".to_owned()),
            ..Contents::default()
        },
        complete: true,
        account: account.clone(),
        parts: (0..parts.into()).map(|number| part(name, number)).collect(),
        ..Source::default()
    };
    let mut manifest = Manifest {
        complete: true,
        sources: sources.iter().map(source).collect(),
        ..Manifest::new(parameters(), BTreeMap::new())
    };
    manifest.save(dir).unwrap();
}

/// The parameters of a scan that would have written such tables.
pub fn parameters() -> Parameters {
    Parameters {
        tables: Vec::new(),
        block_bytes: 1,
        part_blocks: 1,
        repeats: Repeats::Keep,
        // As the rows have them; a question takes bands of 100 points together to such ones.
        band_width: 200,
        ..Parameters::default()
    }
}

/// The exposure table of these rows.
pub fn exposure(rows: &[Exposure]) -> RecordBatch {
    macro_rules! column {
        ($name:literal, $field:ident) => {
            column($name, rows.iter().map(|row| row.$field).collect::<Vec<_>>())
        };
    }
    let mut columns = vec![
        column!("kind", kind),
        column!("safe", safe),
        column!("developed", developed),
        column!("attacked", attacked),
        column!("defended", defended),
        column!("phase", phase),
        column!("band", band),
        column!("time_class", time_class),
        column!("rating_diff", rating_diff),
        column!("fold", fold),
        column!("turns", turns),
    ];
    type Counted = (&'static str, fn(&Exposure) -> i64);
    let counted: [Counted; 4] = [
        ("lost", |row| row.lost),
        ("traded", |row| row.traded),
        ("sold", |row| row.sold),
        ("over", |row| row.over),
    ];
    for (within, halves) in [(3, 1), (5, 1), (10, 2), (15, 2), (20, 2)] {
        for (name, count) in counted {
            let values: Vec<i64> = rows.iter().map(|row| count(row) * halves / 2).collect();
            columns.push(column(&format!("{name}_{within}"), values));
        }
    }
    table(columns)
}

/// A table of spells without a row, with the columns that questions read.
pub fn no_spells() -> RecordBatch {
    let texts = |name: &str| column(name, Vec::<&str>::new());
    let bytes = |name: &str| column(name, Vec::<u8>::new());
    let shorts = |name: &str| column(name, Vec::<u16>::new());
    let signed = |name: &str| column(name, Vec::<i16>::new());
    let flags = |name: &str| column(name, Vec::<bool>::new());
    let mut columns = vec![column("game", Vec::<u32>::new())];
    columns.extend(
        [
            "kind",
            "color",
            "cause",
            "cause_by",
            "cause_kind",
            "square",
            "attacked_by",
            "phase",
            "ended",
            "end_by",
            "fate",
            "owner_result",
            "band",
            "time_class",
        ]
        .map(texts),
    );
    columns.extend(
        [
            "fold",
            "piece",
            "k_low",
            "k_high",
            "safe_before",
            "safe",
            "good",
            "squares_taken",
        ]
        .map(bytes),
    );
    columns.extend(["start_ply", "turns", "end_ply", "fate_ply", "plies_left"].map(shorts));
    columns.extend(["balance", "material_3", "material_5", "material_10"].map(signed));
    columns.extend(["defended", "developed", "moved_away", "quiet", "restrained"].map(flags));
    table(columns)
}
