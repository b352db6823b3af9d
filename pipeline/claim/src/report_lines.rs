//! Lines of the tidy table, rows with a name, and sections of one table: what the parts of the
//! report on a claim share.

use hobble_report::columns::{ColumnText, Columns, Of};
use hobble_report::{Block, Cell, Record, Section, Table};
use hobble_statistics::Estimate;

use super::answer::ClaimAnswer;

/// What a line of the tidy table is about.
pub(super) struct Line<'a> {
    pub table: &'a str,
    pub label: &'a str,
    pub k: u8,
    pub turns: u32,
    pub within: Option<u32>,
    pub outcome: &'a str,
    pub count: u64,
    pub of: u64,
}

/// A line as the columns are made from it.
struct Written {
    claim: String,
    definitions: u32,
    section: String,
    label: String,
    k: u8,
    turns: u32,
    within: Option<u32>,
    outcome: String,
    count: u64,
    of: u64,
    figure: String,
    estimate: Estimate,
}

pub(super) fn record(
    answer: &ClaimAnswer,
    line: &Line<'_>,
    figure: &str,
    estimate: &Estimate,
) -> Record {
    columns().record(&Written {
        claim: answer.claim.name.clone(),
        definitions: answer.definitions,
        section: line.table.to_owned(),
        label: line.label.to_owned(),
        k: line.k,
        turns: line.turns,
        within: line.within,
        outcome: line.outcome.to_owned(),
        count: line.count,
        of: line.of,
        figure: figure.to_owned(),
        estimate: *estimate,
    })
}

/// The columns there are.
pub(super) fn texts() -> Vec<ColumnText> {
    columns().texts()
}

fn columns() -> Columns<Written> {
    let mut out = Columns::default();
    out.text("claim", "Name of the claim.", |line: &Written| {
        line.claim.clone()
    });
    out.count("definitions", "", "Version of the definitions.", |line| {
        line.definitions.into()
    });
    let section = "Part of the report: `comparison`, `sensitivity`, `evidence`, `twins`, `decision`, `side`, `curve`, `ends`, `material`, `score` and others.";
    out.text("part", section, |line| line.section.clone());
    let label = "What the line is about within its part.";
    out.words("label", "the part has one subject", label, |line| {
        line.label.clone()
    });
    out.count(
        "k",
        "squares",
        "Most safe squares of a restrained piece.",
        |line| line.k.into(),
    );
    let turns = "Turns that the piece must have been restrained.";
    out.count("turns", "turns", turns, |line| line.turns.into());
    let moves = Of::new("moves", "no number of moves in the figure");
    let within = "Moves within which the outcome counts.";
    out.optional("within", moves, within, |line| line.within.map(u64::from));
    let outcome = "The outcome counted.";
    out.words("outcome", "no single outcome", outcome, |line| {
        line.outcome.clone()
    });
    let count = "How often it was met; half points in the part `score`.";
    out.count("count", "events", count, |line| line.count);
    out.count(
        "of",
        "cases",
        "Out of how many; 0 where the figure has no such number.",
        |line| line.of,
    );
    let figure = "Name of the figure; in the part `evidence` how the rung stands.";
    out.text("figure", figure, |line| line.figure.clone());
    let what = Of::new(
        "share, ratio, points or pawns, as the figure says",
        "not known, or too few games for an interval",
    );
    out.value(what, |line| line.estimate);
    out
}

pub(super) fn named(name: impl Into<String>, cells: Vec<Cell>) -> Vec<Cell> {
    std::iter::once(Cell::text(name)).chain(cells).collect()
}

pub(super) fn section(id: &str, title: &str, table: Table) -> Section {
    let mut section = Section::new(id, title);
    section.block(Block::Table(table));
    section
}
