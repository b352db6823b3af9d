//! The report on whole sides.

use hobble_report::Made;
use hobble_report::columns::{ColumnText, Columns, Of};
use hobble_report::sections;
use hobble_report::{Block, Fact, Record, Report, Section, Tidy, Tone};

use hobble_statistics::Interval;

use super::answer::SidesAnswer;
use super::compare::OfLevel;
use super::estimate::Clustered;
use super::level::Measure;
use super::verdict::Finds;
use super::{plots, sentences, shown, tables};

/// The report on an answer.
pub fn report(answer: &SidesAnswer) -> Report<'_> {
    let mut sections = vec![found(answer)];
    if !matches!(answer.verdict.finds, Finds::TooFew { .. }) {
        sections.extend([
            boards(answer),
            measured(answer, Measure::Scope, &answer.scope),
            early_and_late(answer),
            taking(answer),
            stands(answer),
            measured(answer, Measure::Held, &answer.held),
            measured(answer, Measure::Restrained, &answer.restrained),
            squares(answer),
        ]);
    }
    let mut cautions = sections::cautions(&answer.notes);
    sections::methods(&mut cautions, &answer.methods);
    sections.push(cautions);
    sections.push(sections::data(&answer.dataset));
    Report {
        subject: "Whole sides in played games",
        title: answer.question.title.clone(),
        sections,
        made: Made::of(&answer.hobble, &answer.dataset.hobble, answer.definitions),
        tidy: tidy(answer),
        answer,
    }
}

fn found(answer: &SidesAnswer) -> Section {
    let mut section = Section::new("found", "What the games say");
    section.paragraph(Tone::Lead, sentences::lead(answer));
    if !matches!(answer.verdict.finds, Finds::TooFew { .. }) {
        section.paragraph(Tone::Caution, sentences::CAUTION);
    }
    section.list(&answer.sentences);
    sections::own_words(&mut section, &answer.question.text);
    let asked = &answer.question;
    let mut terms = vec![
        Fact::new(
            "Safe square",
            "one a piece, pawn or king could go to without losing material at once.",
        ),
        Fact::new(
            "Level position",
            "neither side is more than a pawn ahead, and the move before was quiet: no capture, promotion or check.",
        ),
        Fact::new(
            "Held",
            format!(
                "a knight, bishop, rook or queen that has left home and has at most {} safe squares.",
                asked.k
            ),
        ),
        Fact::new(
            "Restrained",
            "held because a quiet move of the opponent took its squares without attacking it, and still held a turn later.",
        ),
        Fact::new("Score", "a win counts 100%, a draw 50%, a loss 0%."),
        Fact::new(
            "Plies",
            format!(
                "from {} to {}: one ply is a move of one side.",
                asked.from_ply, asked.to_ply
            ),
        ),
    ];
    terms.extend(
        asked
            .said()
            .into_iter()
            .map(|said| Fact::new(said.name, said.words)),
    );
    section.document(Block::Terms(terms));
    section
}

fn boards(answer: &SidesAnswer) -> Section {
    let mut section = Section::new("games", "What it looks like");
    if answer.examples.is_empty() {
        section.paragraph(Tone::Plain, "No position was found that shows it.");
    } else {
        section.block(Block::Games(shown::games(&answer.examples)));
    }
    section
}

fn measured(answer: &SidesAnswer, measure: Measure, levels: &[OfLevel]) -> Section {
    let (id, title) = match measure {
        Measure::Scope => ("squares", "Safe squares beside the opponent\u{2019}s"),
        Measure::Held => ("held", "Pieces held at once"),
        Measure::Restrained => ("restrained", "Pieces restrained at once"),
    };
    let mut section = Section::new(id, title);
    section
        .block(Block::Plot(plots::scores(measure, levels)))
        .block(Block::Table(tables::scores(measure, levels)))
        .block(Block::Table(tables::material(answer, measure, levels)));
    section
}

fn early_and_late(answer: &SidesAnswer) -> Section {
    let mut section = Section::new("windows", "Early and late in the game");
    let plots = [Measure::Scope, Measure::Held].map(|measure| plots::curves(answer, measure));
    if plots.iter().all(Option::is_none) {
        section.paragraph(
            Tone::Plain,
            "The plies asked about hold none of these windows.",
        );
    }
    for plot in plots.into_iter().flatten() {
        section.block(Block::Plot(plot));
    }
    section
}

fn taking(answer: &SidesAnswer) -> Section {
    let mut section = Section::new("taking", "Having squares and taking them");
    section.paragraph(
        Tone::Plain,
        "Looked at are positions in which material was as level three moves before, so that no squares were bought or won with it.",
    );
    section.block(Block::Table(tables::changes(answer)));
    section
}

fn stands(answer: &SidesAnswer) -> Section {
    let mut section = Section::new("stands", "What it stands up to");
    section.block(Block::Table(tables::allowed_for(answer)));
    if let Some(words) = sentences::follows_from(answer) {
        section.paragraph(Tone::Plain, words);
    }
    section.block(Block::Table(tables::follows_from(answer)));
    section
}

fn squares(answer: &SidesAnswer) -> Section {
    let mut section = Section::new("kinds", "Whose squares count");
    section.block(Block::Table(tables::kinds(answer)));
    section
}

/// What a line of the tidy table is about.
#[derive(Clone, Copy)]
struct Line<'a> {
    table: &'a str,
    measure: &'a str,
    level: &'a str,
    plies: Option<(u16, u16)>,
    positions: u64,
}

/// One line a figure; a column that a figure has no use for is empty.
fn tidy(answer: &SidesAnswer) -> Tidy {
    let mut records = Vec::new();
    for levels in [&answer.scope, &answer.held, &answer.restrained] {
        for level in levels {
            records.extend(level_records(answer, "levels", None, level));
        }
    }
    for window in &answer.windows {
        let plies = Some((window.from_ply, window.to_ply));
        for level in &window.levels {
            records.extend(level_records(answer, "windows", plies, level));
        }
    }
    for fitted in &answer.models {
        for slope in &fitted.slopes {
            let line = Line {
                table: "models",
                measure: fitted.model.name(),
                level: slope.of.name(),
                plies: None,
                positions: fitted.positions,
            };
            let figure = format!("{} for {}", fitted.outcome, slope.per);
            records.push(record(answer, line, &figure, &slope.rise));
        }
    }
    let taking = &answer.taking;
    for (figure, estimate) in [
        ("ten gained", taking.gained),
        ("ten kept", taking.kept),
        ("kept less gained", taking.difference),
        ("gained less gone", taking.beyond_gone),
    ] {
        let line = Line {
            table: "taking",
            measure: Measure::Scope.name(),
            level: "",
            plies: None,
            positions: taking.positions,
        };
        records.push(record(answer, line, figure, &estimate));
    }
    for change in &answer.changes {
        let level = format!("{}, then {}", change.before, change.now);
        let line = Line {
            table: "changes",
            measure: Measure::Scope.name(),
            level: &level,
            plies: None,
            positions: change.positions,
        };
        records.push(record(answer, line, "score", &change.score));
    }
    Tidy::of(records)
}

fn level_records(
    answer: &SidesAnswer,
    table: &str,
    plies: Option<(u16, u16)>,
    level: &OfLevel,
) -> Vec<Record> {
    let plain = |value| Clustered {
        value,
        ..Clustered::default()
    };
    let figures = [
        ("score", level.score),
        ("comparable score", plain(level.comparable_score)),
        ("score difference", level.score_difference),
        ("adjusted score", level.adjusted_score),
        ("material lost", level.lost),
        ("comparable material lost", plain(level.comparable_lost)),
        ("material lost difference", level.lost_difference),
    ];
    let line = Line {
        table,
        measure: level.measure.name(),
        level: &level.level,
        plies,
        positions: level.positions,
    };
    figures
        .iter()
        .map(|(figure, estimate)| record(answer, line, figure, estimate))
        .collect()
}

/// A line as the columns are made from it.
struct Written {
    question: String,
    definitions: u32,
    section: String,
    measure: String,
    level: String,
    plies: Option<(u16, u16)>,
    positions: u64,
    figure: String,
    estimate: Clustered,
}

fn record(answer: &SidesAnswer, line: Line<'_>, figure: &str, estimate: &Clustered) -> Record {
    columns().record(&Written {
        question: answer.question.name.clone(),
        definitions: answer.definitions,
        section: line.table.to_owned(),
        measure: line.measure.to_owned(),
        level: line.level.to_owned(),
        plies: line.plies,
        positions: line.positions,
        figure: figure.to_owned(),
        estimate: *estimate,
    })
}

/// The columns there are.
pub(crate) fn texts() -> Vec<ColumnText> {
    columns().texts()
}

fn columns() -> Columns<Written> {
    let mut out = Columns::default();
    out.text("question", "Name of the question.", |line: &Written| {
        line.question.clone()
    });
    out.count("definitions", "", "Version of the definitions.", |line| {
        line.definitions.into()
    });
    let section = "Part of the report: `levels`, `windows`, `models`, `taking` or `changes`.";
    out.text("part", section, |line| line.section.clone());
    let measure = "What the sides are compared by; in `models` the model.";
    out.text("measure", measure, |line| line.measure.clone());
    let level = "Level of the measure; in `models` what rises.";
    out.words("level", "all levels", level, |line| line.level.clone());
    let window = Of::new("ply", "no window of plies");
    for (name, text) in [("from_ply", "First"), ("to_ply", "Last")] {
        let text = format!("{text} ply of the window.");
        out.optional(name, window, text, move |line| {
            let (from, to) = line.plies?;
            Some(if name == "from_ply" { from } else { to }.into())
        });
    }
    let positions = "Positions behind the figure.";
    out.count("positions", "positions", positions, |line| line.positions);
    out.text("figure", "Name of the figure.", |line| line.figure.clone());
    let what = Of::new(
        "points or pawns, as the figure says",
        "not known, or too few games for an interval",
    );
    out.figure("value", what, "The figure.", |line| line.estimate.value);
    type Side = fn(&Clustered) -> Option<Interval>;
    let sides: [(&str, &str, Side); 2] = [
        ("", "games", |estimate| estimate.by_games),
        ("_by_players", "players", |estimate| estimate.by_players),
    ];
    for (end, groups, of) in sides {
        for (name, bound) in [("low", "Lower"), ("high", "Upper")] {
            let text =
                format!("{bound} bound of the 95% interval of `value` by folds of {groups}.");
            out.figure(format!("{name}{end}"), what, text, move |line| {
                let interval = of(&line.estimate)?;
                Some(if name == "low" {
                    interval.low
                } else {
                    interval.high
                })
            });
        }
    }
    out
}
