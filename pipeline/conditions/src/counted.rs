//! States in files: what was counted of some parts, with all that tells whether it may be added to
//! another.
//!
//! A file is compressed by Zstandard. Its first line says what is counted, its second holds the
//! counts, both as JSON.

use std::fs::File;
use std::io::{self, BufRead, BufReader, BufWriter, Read as _, Write as _};
use std::path::Path;

use hobble_dataset::{ChosenSummary, Dataset, PartId};
use hobble_report::replace_file;
use hobble_terms::Table;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_64;

use crate::error::{AskError, refused};
use crate::scans::{self, Scan};
use crate::sum::{State, Sum};

/// Version of the shape of a state's file.
pub const FORMAT: u32 = 4;

/// Level of compression: what a higher one saves is less than it costs.
const LEVEL: i32 = 6;

/// Longest first line that is read.
const LONGEST: u64 = 1 << 30;

/// What a state counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct About {
    /// Version of the file's shape: [`FORMAT`].
    pub format: u32,
    /// Version of the program that counted.
    pub hobble: String,
    /// Version of the definitions the tables follow.
    pub definitions: u32,
    /// The question; `None` where its state is not written to be asked from.
    pub asked: Option<AskedOf>,
    /// Hash of the question, as 16 hexadecimal digits.
    pub question: String,
    /// Width of the rating bands, in points.
    pub band_width: u16,
    /// Sides looked at, where the question chooses some.
    pub chosen: Option<ChosenSummary>,
    /// The scans of which parts are counted.
    pub scans: Vec<Scan>,
}

/// A question in a state's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AskedOf {
    /// What its file says in the field `about`.
    pub about: String,
    /// Name of the question, as it is asked by.
    pub name: String,
    /// Which count of the parts this is: 2 where they are counted again, knowing what came of the first.
    pub count: u8,
    /// All that its file says, with what was given beside it.
    pub question: serde_json::Value,
}

/// A state together with what it counts, so that states that do not belong together are
/// never added up.
#[derive(Debug, Clone, PartialEq)]
pub struct Counted<T> {
    /// What is counted.
    pub about: About,
    /// The counts.
    pub state: T,
}

/// Counts every part of a dataset and answers.
///
/// # Errors
///
/// Where the question does not fit, or a table is missing, unreadable or inconsistent.
pub fn answer<S: Sum>(question: &S, dataset: &Dataset) -> Result<S::Answer, AskError> {
    question.fits()?;
    let chosen = question.chosen(dataset)?;
    let dataset = &*chosen;
    let ids = dataset.part_ids(question.tables(), question.optional())?;
    let state = of_parts(question, dataset, &ids)?;
    question.answer(dataset, &state)
}

impl<T: State + Send> Counted<T> {
    /// Counts some parts, and keeps the games of them that the answer may show.
    ///
    /// # Errors
    ///
    /// Where the question does not fit, or a table is unreadable or inconsistent.
    pub fn of<S: Sum<State = T>>(
        question: &S,
        dataset: &Dataset,
        parts: &[PartId],
    ) -> Result<Counted<T>, AskError> {
        question.fits()?;
        let narrowed = dataset.of_parts(parts);
        let mut about = About {
            format: FORMAT,
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            definitions: dataset.definitions(),
            asked: None,
            question: hash(question)?,
            band_width: dataset.band_width(),
            chosen: None,
            scans: vec![Scan::of(&narrowed, parts, &looked_at(question))],
        };
        let mut state = match question.chosen(&narrowed) {
            // Other parts may have some.
            Err(AskError::NoSides { filters }) => {
                about.chosen = Some(ChosenSummary {
                    filters,
                    ..ChosenSummary::default()
                });
                question.of_none(&narrowed, parts)?
            }
            chosen => {
                let chosen = chosen?;
                about.band_width = chosen.band_width();
                about.chosen.clone_from(&chosen.summary().chosen);
                of_parts(question, &chosen, parts)?
            }
        };
        question.keep(&narrowed, &mut state)?;
        Ok(Counted { about, state })
    }

    /// Adds another state.
    ///
    /// # Errors
    ///
    /// Where it is of another question or other definitions, or counts a part again.
    pub fn add(&mut self, other: Counted<T>) -> Result<(), AskError> {
        let (own, theirs) = (&mut self.about, other.about);
        if own.question != theirs.question {
            return Err(refused("states of different questions cannot be added"));
        }
        if own.definitions != theirs.definitions {
            return Err(refused(format!(
                "states by definitions {} and {} cannot be added",
                own.definitions, theirs.definitions
            )));
        }
        scans::add(&mut own.scans, theirs.scans)?;
        own.band_width = own.band_width.max(theirs.band_width);
        if let (Some(sum), Some(more)) = (&mut own.chosen, theirs.chosen) {
            sum.sides += more.sides;
            sum.games += more.games;
        }
        self.state.add(other.state);
        Ok(())
    }

    /// The answer, where every part of the dataset is counted.
    ///
    /// # Errors
    ///
    /// Where parts are missing, the state is of another question, or a table is unreadable.
    pub fn answer<S: Sum<State = T>>(
        &self,
        question: &S,
        dataset: &Dataset,
    ) -> Result<S::Answer, AskError> {
        self.is_of(question)?;
        let chosen = question.chosen(dataset)?;
        let dataset = &*chosen;
        let ids = dataset.part_ids(question.tables(), question.optional())?;
        let counted = || scans::counted(&self.about.scans);
        if let Some(missing) = ids.iter().find(|id| counted().all(|one| one != *id)) {
            return Err(refused(format!("{missing} is not counted")));
        }
        if let Some(unknown) = counted().find(|id| !ids.contains(id)) {
            return Err(refused(format!("{unknown} is not in the tables")));
        }
        question.answer(dataset, &self.state)
    }

    /// The answer from the state alone, without tables, and the dataset that was counted. With
    /// `partial` some of its parts may be missing.
    ///
    /// # Errors
    ///
    /// Where parts are missing and may not be, or the state is of another question.
    pub fn answer_alone<S: Sum<State = T>>(
        &self,
        question: &S,
        partial: bool,
    ) -> Result<(S::Answer, Dataset), AskError> {
        self.is_of(question)?;
        let about = &self.about;
        let dataset = scans::dataset(&about.scans, &counted_tables(question), partial)?;
        if let Some(none) = about.chosen.as_ref().filter(|chosen| chosen.sides == 0) {
            return Err(AskError::NoSides {
                filters: none.filters.clone(),
            });
        }
        let dataset = dataset.of_bands(about.band_width)?.into_owned();
        let dataset = dataset.with_chosen(about.chosen.clone());
        let answer = question.answer(&dataset, &self.state)?;
        Ok((answer, dataset))
    }

    pub(crate) fn is_of(&self, question: &impl Serialize) -> Result<(), AskError> {
        if self.about.question != hash(question)? {
            return Err(refused("the state is of another question"));
        }
        Ok(())
    }

    /// Writes the state to a file, which is there whole or not at all.
    ///
    /// # Errors
    ///
    /// Where the file cannot be written.
    pub fn write(&self, path: &Path) -> Result<(), AskError> {
        replace_file(path, |file| {
            let mut out = zstd::Encoder::new(BufWriter::new(file), LEVEL)?;
            out.include_checksum(true)?;
            serde_json::to_writer(&mut out, &self.about)?;
            out.write_all(b"\n")?;
            serde_json::to_writer(&mut out, &self.state)?;
            out.write_all(b"\n")?;
            out.finish()?.flush()
        })
        .map_err(|error| refused(format!("{}: cannot be written: {error}", path.display())))
    }

    /// Reads a state back.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read, or is of another version.
    pub fn read(path: &Path) -> Result<Counted<T>, AskError> {
        let (about, mut rest) = opened(path)?;
        let invalid = |error: &dyn std::fmt::Display| bad(path, format!("invalid state: {error}"));
        let mut text = Vec::new();
        rest.read_to_end(&mut text)
            .map_err(|error| invalid(&error))?;
        let state = serde_json::from_slice(&text).map_err(|error| invalid(&error))?;
        Ok(Counted { about, state })
    }
}

impl About {
    /// Number of the parts counted.
    pub fn parts(&self) -> u64 {
        scans::counted(&self.scans).count() as u64
    }

    /// Whether the tables of a folder are among those of which parts are counted.
    pub fn is_of_tables(&self, dataset: &Dataset) -> bool {
        self.scans.iter().any(|scan| scan.is_of(dataset))
    }

    /// The same of another question, before any part of the tables of these folders is counted for it.
    pub(crate) fn uncounted(
        &self,
        question: &impl Serialize,
        folders: &[Dataset],
    ) -> Result<About, AskError> {
        let is_of_folders = |scan: &&Scan| folders.iter().any(|folder| scan.is_of(folder));
        let chosen = self.chosen.as_ref().map(|chosen| ChosenSummary {
            filters: chosen.filters.clone(),
            ..ChosenSummary::default()
        });
        Ok(About {
            asked: None,
            question: hash(question)?,
            chosen,
            scans: self
                .scans
                .iter()
                .filter(is_of_folders)
                .map(Scan::uncounted)
                .collect(),
            ..self.clone()
        })
    }

    /// Name of the question, as it is asked by.
    pub fn name(&self) -> &str {
        let asked = self.asked.as_ref();
        asked.map(|asked| asked.name.as_str()).unwrap_or_default()
    }

    /// Reads what a state's file counts.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read, is not a state's, or is of another version.
    pub fn read(path: &Path) -> Result<About, AskError> {
        Ok(opened(path)?.0)
    }
}

fn bad(path: &Path, what: impl std::fmt::Display) -> AskError {
    refused(format!("{}: {what}", path.display()))
}

type Rest = BufReader<zstd::Decoder<'static, BufReader<File>>>;

/// The first line of a state's file, and the rest of it.
fn opened(path: &Path) -> Result<(About, Rest), AskError> {
    #[derive(Deserialize)]
    struct Version {
        format: u32,
        hobble: String,
    }
    let open =
        || -> io::Result<Rest> { Ok(BufReader::new(zstd::Decoder::new(File::open(path)?)?)) };
    let mut rest = open().map_err(|error| bad(path, format!("cannot be read: {error}")))?;
    let mut line = Vec::new();
    let first = rest.by_ref().take(LONGEST).read_until(b'\n', &mut line);
    first.map_err(|error| {
        bad(
            path,
            format!("not a file that `hobble ask --state` wrote, or damaged: {error}"),
        )
    })?;
    let invalid = |error| bad(path, format!("invalid state: {error}"));
    let version: Version = serde_json::from_slice(&line).map_err(invalid)?;
    let ours = env!("CARGO_PKG_VERSION");
    if (version.format, version.hobble.as_str()) != (FORMAT, ours) {
        return Err(bad(
            path,
            format!(
                "format {} of hobble {}, this program reads format {FORMAT} of hobble {ours}: count the parts again",
                version.format, version.hobble
            ),
        ));
    }
    let about: About = serde_json::from_slice(&line).map_err(invalid)?;
    Ok((about, rest))
}

/// Counts parts and adds them up: as many at a time as there are threads, so that memory does not grow
/// with the number of parts. Rows of a part are counted in parallel as well.
pub(crate) fn of_parts<S: Sum>(
    question: &S,
    dataset: &Dataset,
    ids: &[PartId],
) -> Result<S::State, AskError> {
    let mut sum = S::State::default();
    for some in ids.chunks(rayon::current_num_threads().max(1)) {
        let states = some.par_iter().map(|id| question.part(dataset, id));
        for state in states.collect::<Result<Vec<_>, AskError>>()? {
            sum.add(state);
        }
    }
    Ok(sum)
}

/// The tables whose parts a question counts.
pub(crate) fn counted_tables<S: Sum>(question: &S) -> Vec<Table> {
    [question.tables(), question.optional()].concat()
}

/// The tables that a question reads, those of the games that it shows as well.
pub(crate) fn looked_at<S: Sum>(question: &S) -> Vec<Table> {
    let mut tables = counted_tables(question);
    tables.extend(question.shown());
    tables.extend(question.chooses().then_some(Table::Sides));
    tables.sort_unstable();
    tables.dedup();
    tables
}

/// Tells questions apart: everything their file says, overrides applied.
fn hash(question: &impl Serialize) -> Result<String, AskError> {
    let text = serde_json::to_vec(question)
        .map_err(|error| refused(format!("the question cannot be hashed: {error}")))?;
    Ok(format!("{:016x}", xxh3_64(&text)))
}
