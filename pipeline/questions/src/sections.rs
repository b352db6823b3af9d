//! What the reports of all sorts of question share: cells of figures, cautions, methods, the
//! facts of a game, where the data came from.

use hobble_dataset::{DatasetSummary, SourceSummary};
use hobble_report::{
    Block, Bounds, Cell, Fact, Method as Told, Section, Tone, Unit, Why, plain_short,
};

use crate::answer::{Estimate, GameReference, Interval, Method};
use crate::words;

/// Bounds of an interval.
pub fn bounds(interval: Option<Interval>) -> Option<Bounds> {
    interval.map(|interval| Bounds {
        low: interval.low,
        high: interval.high,
    })
}

/// A figure with its interval.
pub(crate) fn cell(unit: Unit, estimate: &Estimate) -> Cell {
    Cell::figure(unit, estimate.value, bounds(estimate.jackknife))
}

/// A figure with its interval, or why there is none.
pub(crate) fn cell_or(unit: Unit, estimate: &Estimate, why: Why) -> Cell {
    match estimate.value {
        Some(_) => cell(unit, estimate),
        None => Cell::None(why, None),
    }
}

/// The paragraphs of a question's own text.
pub(crate) fn own_words(section: &mut Section, text: &str) {
    for paragraph in hobble_report::paragraphs(text) {
        section.document(Block::Paragraph(Tone::Plain, paragraph));
    }
}

/// How the figures were worked out.
pub(crate) fn methods(section: &mut Section, methods: &[Method]) {
    if methods.is_empty() {
        return;
    }
    section.document(Block::Heading("Methods".to_owned()));
    let told = methods.iter().map(|method| Told {
        name: words::capital(&method.name),
        text: method.text.clone(),
        source: method.source.clone(),
    });
    section.document(Block::Methods(told.collect()));
}

/// Cautions and remarks on the whole.
pub(crate) fn cautions<'a>(notes: impl IntoIterator<Item = &'a String>) -> Section {
    let mut section = Section::new("cautions", "Cautions");
    section.list(notes);
    section
}

/// Players, event, result and place of a game.
pub(crate) fn game_facts(game: &GameReference) -> Vec<Fact> {
    let said = |text: &Option<String>| {
        let text = text.as_deref().map(plain_short);
        text.filter(|text| !text.is_empty())
    };
    let player = |name: &Option<String>, rating: Option<u16>| {
        let name = said(name).unwrap_or_else(|| "name not given".to_owned());
        rating.map_or_else(|| name.clone(), |rating| format!("{name} ({rating})"))
    };
    let played: Vec<String> = [
        said(&game.event),
        said(&game.round).map(|round| format!("round {round}")),
        said(&game.date),
    ]
    .into_iter()
    .flatten()
    .collect();
    let played = if played.is_empty() {
        "not given".to_owned()
    } else {
        played.join(", ")
    };
    vec![
        Fact::new("White", player(&game.white, game.white_rating)),
        Fact::new("Black", player(&game.black, game.black_rating)),
        Fact::new("Game", played),
        Fact::new("Result", plain_short(&game.result)),
        Fact::new("Found in", place(game)),
        Fact::new("Game id", plain_short(&game.game_id)),
    ]
}

/// Where a game is found.
pub(crate) fn place(game: &GameReference) -> String {
    format!(
        "{}, game {}, line {}",
        plain_short(file_name(&game.file)),
        words::count(u64::from(game.number)),
        words::count(game.line)
    )
}

/// The last part of a path, whichever system wrote it.
pub(crate) fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// What the tables were made from.
pub(crate) fn data(dataset: &DatasetSummary) -> Section {
    let mut section = Section::new("data", "Where the data came from");
    section.paragraph(
        Tone::Plain,
        format!(
            "Games read: {}. Kept: {}. Skipped: {}.",
            words::count(dataset.read),
            words::count(dataset.kept),
            words::count(dataset.skipped)
        ),
    );
    let reasons: Vec<Fact> = dataset
        .skipped_by_reason
        .iter()
        .filter(|(_, games)| **games > 0)
        .map(|(reason, games)| Fact::new(plain_short(reason), words::count(*games)))
        .collect();
    if !reasons.is_empty() {
        section.block(Block::Heading("Games skipped, by reason".to_owned()));
        section.block(Block::Facts(reasons));
    }
    files(&mut section, "Archive files", &dataset.sources);
    section
}

/// Archive files, one after another.
pub(crate) fn files(section: &mut Section, title: &str, sources: &[SourceSummary]) {
    section.document(Block::Heading(title.to_owned()));
    for source in sources {
        let sha256 = if source.sha256.is_empty() {
            "not known".to_owned()
        } else {
            plain_short(&source.sha256)
        };
        section.document(Block::Facts(vec![
            Fact::new("File", plain_short(&source.file)),
            Fact::new("Source", plain_short(&source.source)),
            Fact::new("SHA-256", sha256),
            Fact::new(
                "Games",
                format!(
                    "{} read, {} kept, {} skipped",
                    words::count(source.read),
                    words::count(source.kept),
                    words::count(source.skipped.values().sum())
                ),
            ),
        ]));
    }
    if sources.is_empty() {
        let none = "The manifest names no file.".to_owned();
        section.document(Block::Paragraph(Tone::Plain, none));
    }
}
