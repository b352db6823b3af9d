//! Norms: what is counted of all sides of an archive, by rating band, time class, colour and fold,
//! in one small file that serves as peers where the archive is not at hand.
//!
//! The file is a Parquet table, one row a count above 0, with the columns of [`COLUMNS`]; the pair
//! `hobble.norms` of its metadata is [`About`] as JSON.

mod peers;

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use arrow_array::cast::AsArray;
use arrow_array::types::{UInt8Type, UInt64Type};
use arrow_array::{Array, ArrayRef, RecordBatch, StringArray, UInt8Array, UInt64Array};
use hobble_conditions::AskError;
use hobble_conditions::counted;
use hobble_dataset::{Dataset, DatasetSummary};
use hobble_report::columns::{ColumnText, NEVER};
use hobble_terms::{DEFINITIONS, FOLDS};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use serde::{Deserialize, Serialize};

use crate::Habits;
use crate::count::NAMES;
use crate::openings::Openings;
use crate::peer_counts::{FoldCounts, PeerCounts};
use crate::peer_sides::PeersAsked;
use crate::peers_alone::PeersAlone;
use crate::sides::{Cell, Stratum, Whose};
use crate::tally::TURNS;

/// Version of the file's shape.
const FORMAT: u32 = 1;

/// The key of [`About`] in the file's metadata.
const ABOUT: &str = "hobble.norms";

/// Names of the columns. `fold` is null for counts that are not kept by fold: those of spells by
/// their turns, `turns_1` to `turns_64`, the last standing for so many and more.
pub const COLUMNS: [&str; 6] = ["band", "time_class", "color", "fold", "counted", "count"];

/// What the columns hold, for the codebook.
pub fn texts() -> Vec<ColumnText> {
    let [band, time_class, color, fold, counted, count] = COLUMNS;
    let of = |name: &str, column_type, unit, empty, text: &str| ColumnText {
        name: name.to_owned(),
        column_type,
        unit,
        empty,
        text: text.to_owned(),
    };
    vec![
        of(band, "text", "", NEVER, "Rating band of the side."),
        of(time_class, "text", "", NEVER, "Time class of the games."),
        of(color, "text", "", NEVER, "Colour of the side."),
        of(
            fold,
            "count",
            "",
            "lengths of spells, counted over all folds",
            "Fold of the games.",
        ),
        of(
            counted,
            "text",
            "",
            NEVER,
            "What is counted; `turns_N` are spells of so many turns.",
        ),
        of(
            count,
            "count",
            "as `counted` says",
            NEVER,
            "The count, above 0.",
        ),
    ]
}

/// From so many archive files on their names are left out.
const MOST_SOURCES: usize = 100;

/// What norms were counted from, and how.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct About {
    /// Version of the file's shape.
    pub format: u32,
    /// Version of the program that wrote it.
    pub hobble: String,
    /// Version of the definitions.
    pub definitions: u32,
    /// Safe squares, as the question said.
    pub k: u8,
    /// Moves within which a piece is lost, likewise.
    pub within: u32,
    /// Turns from which a piece counts as left held for long, likewise.
    pub long: u32,
    /// Different spellings of names.
    pub names: u64,
    /// Whether the scan of the archive had finished.
    pub complete: bool,
    /// What the tables were made from.
    pub dataset: DatasetSummary,
}

/// Norms of an archive.
#[derive(Debug, Clone)]
pub struct Norms {
    /// What they were counted from.
    pub about: About,
    /// The counts; without the names.
    counts: PeerCounts,
}

/// A file of norms that cannot be used: which and why.
fn refused(path: &Path, what: impl std::fmt::Display) -> AskError {
    AskError::Override {
        name: "peers",
        what: format!("{}: {what}", path.display()),
    }
}

const NOT_NORMS: &str = "this is neither a folder of tables nor a file that `hobble norms` wrote";

impl Norms {
    /// Counts the sides of a dataset.
    ///
    /// # Errors
    ///
    /// Where a table is missing, unreadable or inconsistent.
    pub fn of(habits: &Habits, dataset: &Dataset) -> Result<Norms, AskError> {
        let everyone = PeersAlone {
            habits: habits.clone(),
            peers: PeersAsked {
                whose: Whose::Spellings(BTreeSet::new()),
                strata: None,
                openings: Openings::default(),
            },
            chooses: false,
        };
        let counts = counted::answer(&everyone, dataset)?;
        let mut summary = dataset.summary().clone();
        if summary.sources.len() >= MOST_SOURCES {
            summary.sources.clear();
        }
        Ok(Norms {
            about: About {
                format: FORMAT,
                hobble: env!("CARGO_PKG_VERSION").to_owned(),
                definitions: dataset.definitions(),
                k: habits.k,
                within: habits.within,
                long: habits.long,
                names: counts.names.len() as u64,
                complete: dataset.complete(),
                dataset: summary,
            },
            counts,
        })
    }

    /// Sides counted.
    pub fn sides(&self) -> u64 {
        self.counts.sides()
    }

    /// Number of different rating bands with time class and colour.
    pub fn cells(&self) -> usize {
        self.counts.cells.len()
    }

    /// Writes the file; one that is there is replaced once the new one is whole.
    ///
    /// # Errors
    ///
    /// Where the file cannot be written.
    pub fn write(&self, path: &Path) -> std::io::Result<()> {
        let rows = self.rows().map_err(std::io::Error::other)?;
        let about = serde_json::to_string(&self.about)?;
        let level = ZstdLevel::try_new(9).map_err(std::io::Error::other)?;
        let properties = WriterProperties::builder()
            .set_compression(Compression::ZSTD(level))
            .set_key_value_metadata(Some(vec![KeyValue::new(ABOUT.to_owned(), about)]))
            .build();
        hobble_report::replace_file(path, |file| {
            let mut writer = ArrowWriter::try_new(file, rows.schema(), Some(properties))?;
            writer.write(&rows)?;
            writer.close()?;
            Ok(())
        })
    }

    /// The rows: sorted by what is counted, so that neighbours are alike.
    fn rows(&self) -> Result<RecordBatch, arrow_schema::ArrowError> {
        let mut rows: Vec<(&Cell, Option<u8>, Cow<'_, str>, u64)> = Vec::new();
        for (place, name) in NAMES.iter().enumerate() {
            for (cell, of_cell) in &self.counts.cells {
                for (&fold, FoldCounts(counts)) in &of_cell.folds {
                    if counts[place] > 0 {
                        rows.push((cell, Some(fold), Cow::Borrowed(name), counts[place]));
                    }
                }
            }
        }
        for turns in 1..=TURNS {
            for (cell, of_cell) in &self.counts.cells {
                if of_cell.turns[turns] > 0 {
                    let name = Cow::Owned(format!("turns_{turns}"));
                    rows.push((cell, None, name, of_cell.turns[turns]));
                }
            }
        }
        let texts = |of: &dyn Fn(&Cell) -> String| -> ArrayRef {
            Arc::new(StringArray::from_iter_values(
                rows.iter().map(|row| of(row.0)),
            ))
        };
        let color = |cell: &Cell| if cell.white { "white" } else { "black" }.to_owned();
        let folds: UInt8Array = rows.iter().map(|row| row.1).collect();
        let counted = StringArray::from_iter_values(rows.iter().map(|row| &row.2));
        let counts = UInt64Array::from_iter_values(rows.iter().map(|row| row.3));
        let columns: [ArrayRef; 6] = [
            texts(&|cell| cell.stratum.band.clone()),
            texts(&|cell| cell.stratum.time_class.clone()),
            texts(&color),
            Arc::new(folds),
            Arc::new(counted),
            Arc::new(counts),
        ];
        let nullable = |name: &str| name == "fold";
        RecordBatch::try_from_iter_with_nullable(
            COLUMNS
                .iter()
                .zip(columns)
                .map(|(name, column)| (*name, column, nullable(name))),
        )
    }

    /// Reads a file of norms.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read, is not one of norms, or was written by other definitions.
    pub fn read(path: &Path) -> Result<Norms, AskError> {
        let file = File::open(path).map_err(|error| refused(path, error))?;
        let reader =
            ParquetRecordBatchReaderBuilder::try_new(file).map_err(|_| refused(path, NOT_NORMS))?;
        let pairs = reader.metadata().file_metadata().key_value_metadata();
        let about = pairs.into_iter().flatten().find(|pair| pair.key == ABOUT);
        let about = about.and_then(|pair| pair.value.as_deref());
        let about: About = about
            .and_then(|about| serde_json::from_str(about).ok())
            .ok_or_else(|| refused(path, NOT_NORMS))?;
        for (what, found, ours) in [
            ("format", about.format, FORMAT),
            ("definitions", about.definitions, DEFINITIONS),
        ] {
            if found != ours {
                let what = format!(
                    "its {what} are {found}, this program reads {ours}: write it again with `hobble norms`"
                );
                return Err(refused(path, what));
            }
        }
        let mut norms = Norms {
            about,
            counts: PeerCounts::default(),
        };
        for batch in reader.build().map_err(|error| refused(path, error))? {
            let batch = batch.map_err(|error| refused(path, error))?;
            norms.add(&batch).map_err(|what| refused(path, what))?;
        }
        Ok(norms)
    }

    fn add(&mut self, batch: &RecordBatch) -> Result<(), String> {
        let column = |name: &str| {
            let column = batch.column_by_name(name);
            column.ok_or_else(|| format!("there is no column {name}"))
        };
        let texts = |name: &str| {
            let texts = column(name)?.as_string_opt::<i32>();
            texts.ok_or_else(|| format!("column {name} holds no texts"))
        };
        let number = |name: &str| format!("column {name} holds no numbers");
        let (band, class, color) = (texts("band")?, texts("time_class")?, texts("color")?);
        let counted = texts("counted")?;
        let folds = column("fold")?.as_primitive_opt::<UInt8Type>();
        let folds = folds.ok_or_else(|| number("fold"))?;
        let counts = column("count")?.as_primitive_opt::<UInt64Type>();
        let counts = counts.ok_or_else(|| number("count"))?;
        for row in 0..batch.num_rows() {
            let cell = Cell {
                stratum: Stratum {
                    band: band.value(row).to_owned(),
                    time_class: class.value(row).to_owned(),
                },
                white: color.value(row) == "white",
                opening: None,
            };
            let of_cell = self.counts.cells.entry(cell).or_default();
            let name = counted.value(row);
            let fold = folds.is_valid(row).then(|| folds.value(row));
            let to = match fold {
                Some(fold) => NAMES
                    .iter()
                    .position(|one| *one == name && usize::from(fold) < FOLDS)
                    .map(|one| &mut of_cell.fold(fold)[one]),
                None => name
                    .strip_prefix("turns_")
                    .and_then(|turns| turns.parse::<usize>().ok())
                    .and_then(|turns| of_cell.turns.get_mut(turns)),
            };
            *to.ok_or_else(|| format!("\"{name}\" is not a count that this program knows"))? +=
                counts.value(row);
        }
        Ok(())
    }

    /// Reads a file of norms that were counted with the words of a question.
    ///
    /// # Errors
    ///
    /// Where the file cannot be used, or they were counted with other words.
    pub fn for_question(path: &Path, habits: &Habits) -> Result<Norms, AskError> {
        let norms = Norms::read(path)?;
        norms.fit(path, habits)?;
        Ok(norms)
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::count::Count;
    use crate::peer_counts::CellCounts;
    use hand_made_tables::question;
    use std::fs;

    pub(super) fn cell(band: &str, white: bool) -> Cell {
        Cell {
            stratum: Stratum {
                band: band.to_owned(),
                time_class: "rapid".to_owned(),
            },
            white,
            opening: None,
        }
    }

    pub(super) fn norms() -> Norms {
        let mut low = CellCounts::default();
        low.fold(3)[Count::Games as usize] = 7;
        low.fold(3)[Count::Spells as usize] = 11;
        let mut high = CellCounts::default();
        high.fold(0)[Count::Games as usize] = 5;
        high.fold(63)[Count::UnhurriedTurnsRestrained as usize] = u64::from(u32::MAX) + 1;
        high.turns[1] = 4;
        high.turns[TURNS] = 2;
        let none = serde_json::json!({
            "hobble": "", "sources": [], "read": 0, "kept": 0, "skipped": 0, "skipped_by_reason": {},
        });
        Norms {
            about: About {
                format: FORMAT,
                hobble: "0".to_owned(),
                definitions: DEFINITIONS,
                k: 2,
                within: 10,
                long: 3,
                names: 9,
                complete: true,
                dataset: serde_json::from_value(none).unwrap(),
            },
            counts: PeerCounts {
                cells: [
                    (cell("1400-1599", true), low),
                    (cell("1600-1799", false), high),
                ]
                .into(),
                ..PeerCounts::default()
            },
        }
    }

    #[test]
    fn what_is_written_is_read() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("norms.parquet");
        let written = norms();
        written.write(&path).unwrap();
        let read = Norms::read(&path).unwrap();
        assert_eq!(read.about, written.about);
        assert_eq!(read.counts, written.counts);
        assert_eq!(read.sides(), 12);
        let high = cell("1600-1799", false);
        let peers = read.peers(Some(&BTreeSet::from([high.stratum.clone()])), 200);
        assert_eq!((peers.cells.len(), peers.sides()), (1, 5));
        assert_eq!(peers.cells[&high], written.counts.cells[&high]);
    }

    #[test]
    fn what_cannot_be_used_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("norms.parquet");
        let refused = |habits: &Habits| Norms::for_question(&path, habits).unwrap_err().to_string();
        let habits: Habits = question("").unwrap();
        fs::write(&path, "[Event \"x\"]").unwrap();
        assert!(refused(&habits).ends_with("nor a file that `hobble norms` wrote"));
        let mut other = norms();
        other.about.k = habits.k + 1;
        other.write(&path).unwrap();
        assert!(
            refused(&habits).contains("counted with k = "),
            "{}",
            refused(&habits)
        );
        other.about.definitions += 1;
        other.write(&path).unwrap();
        assert!(refused(&habits).contains("its definitions are "));
    }
}
