//! What the reports of all sorts of question share: cells of figures, cautions, methods, where
//! the data came from.

use hobble_dataset::{ChosenSummary, Dataset, DatasetSummary, SourceSummary};
use hobble_statistics::Estimate;

pub use crate::cell::bounds;
use crate::number;
use crate::{Block, Cell, Fact, Method, Section, Tone, Unit, Why, plain_short};

/// A figure with its interval.
pub fn cell(unit: Unit, estimate: &Estimate) -> Cell {
    Cell::figure(unit, estimate.value, bounds(estimate.jackknife))
}

/// A figure with its interval, or why there is none.
pub fn cell_or(unit: Unit, estimate: &Estimate, why: Why) -> Cell {
    match estimate.value {
        Some(_) => cell(unit, estimate),
        None => Cell::None(why, None),
    }
}

/// The paragraphs of a question's own text.
pub fn own_words(section: &mut Section, text: &str) {
    for paragraph in crate::paragraphs(text) {
        section.document(Block::Paragraph(Tone::Plain, paragraph));
    }
}

/// How the figures were worked out.
pub fn methods(section: &mut Section, methods: &[Method]) {
    if methods.is_empty() {
        return;
    }
    section.document(Block::Heading("Methods".to_owned()));
    let methods = methods.iter().map(|method| Method {
        name: number::capital(&method.name),
        text: method.text.clone(),
        source: method.source.clone(),
    });
    section.document(Block::Methods(methods.collect()));
}

/// Cautions and remarks on the whole.
pub fn cautions<'a>(notes: impl IntoIterator<Item = &'a String>) -> Section {
    let mut section = Section::new("cautions", "Cautions");
    section.list(notes);
    section
}

/// The sections that end a report: cautions, and where the data came from.
pub fn ending(notes: &[String], dataset: &DatasetSummary) -> [Section; 2] {
    [cautions(notes), data(dataset)]
}

/// A caution on tables whose scan has not finished.
const NOT_FINISHED: &str =
    "The scan that made these tables has not finished: the figures are of the games read so far.";

/// A caution on an answer to some parts of the tables.
const PARTIAL: &str =
    "Some parts of the tables are not counted: the figures are of the games in the others.";

/// The caution on tables whose scan has not finished, or that are not counted in all parts.
pub fn not_finished(dataset: &Dataset) -> Option<String> {
    let caution = match (dataset.partial(), dataset.complete()) {
        (true, _) => PARTIAL,
        (false, true) => return None,
        (false, false) => NOT_FINISHED,
    };
    Some(caution.to_owned())
}

/// Cautions on tables whose scan has not finished, or that hold files the manifest does not name.
pub fn scan_notes(dataset: &Dataset) -> Vec<String> {
    let mut notes = Vec::new();
    notes.extend(dataset.summary().chosen.as_ref().map(looked_at));
    notes.extend(not_finished(dataset));
    if !dataset.unfinished().is_empty() {
        notes.push(format!(
            "Left out, because the manifest does not name them: {}.",
            number::list(dataset.unfinished())
        ));
    }
    notes
}

/// Which games and sides were looked at, where not all.
fn looked_at(chosen: &ChosenSummary) -> String {
    let filters = chosen.filters.iter().map(|filter| plain_short(filter));
    format!(
        "Looked at: {} of {} ({}).",
        number::counted(chosen.sides, "side"),
        number::counted(chosen.games, "game"),
        filters.collect::<Vec<_>>().join("; ")
    )
}

/// What the tables were made from.
pub fn data(dataset: &DatasetSummary) -> Section {
    let mut section = Section::new("data", "Where the data came from");
    let repeats = dataset.repeats.map_or_else(String::new, |repeats| {
        let left_out = number::count(repeats);
        format!("Left out, as they repeat a game kept: {left_out}. ")
    });
    section.paragraph(
        Tone::Plain,
        format!(
            "Games read: {}. Kept: {}. {repeats}Skipped: {}.",
            number::count(dataset.read),
            number::count(dataset.kept),
            number::count(dataset.skipped)
        ),
    );
    if let Some(chosen) = &dataset.chosen {
        section.paragraph(Tone::Plain, looked_at(chosen));
    }
    let reasons: Vec<Fact> = dataset
        .skipped_by_reason
        .iter()
        .filter(|(_, games)| **games > 0)
        .map(|(reason, games)| Fact::new(plain_short(reason), number::count(*games)))
        .collect();
    if !reasons.is_empty() {
        section.block(Block::Heading("Games skipped, by reason".to_owned()));
        section.block(Block::Facts(reasons));
    }
    files(&mut section, "Archive files", &dataset.sources);
    section
}

/// Archive files, one after another.
pub fn files(section: &mut Section, title: &str, sources: &[SourceSummary]) {
    section.document(Block::Heading(title.to_owned()));
    for source in sources {
        let repeats = match source.repeats {
            0 => String::new(),
            repeats => format!("{} repeats, ", number::count(repeats)),
        };
        let sha256 = if source.sha256.is_empty() {
            "not known".to_owned()
        } else {
            plain_short(&source.sha256)
        };
        let mut facts = vec![
            Fact::new("File", plain_short(&source.file)),
            Fact::new("Source", plain_short(&source.source)),
            Fact::new("SHA-256", sha256),
            Fact::new(
                "Games",
                format!(
                    "{} read, {} kept, {repeats}{} skipped",
                    number::count(source.read),
                    number::count(source.kept),
                    number::count(source.skipped.values().sum())
                ),
            ),
        ];
        let given = [("Origin", &source.origin), ("Licence", &source.licence)];
        let given = given
            .into_iter()
            .filter_map(|(name, text)| Some((name, text.as_ref()?)));
        facts.extend(given.map(|(name, text)| Fact::new(name, plain_short(text))));
        section.document(Block::Facts(facts));
    }
    if sources.is_empty() {
        let none = "The manifest names no file.".to_owned();
        section.document(Block::Paragraph(Tone::Plain, none));
    }
}

/// The last part of a path, whichever system wrote it.
pub fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}
