//! Lines of the tidy table, rows with a name, and sections of one table: what the parts of the
//! report on a claim share.

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

pub(super) fn record(
    answer: &ClaimAnswer,
    line: &Line<'_>,
    figure: &str,
    estimate: &Estimate,
) -> Record {
    let interval = estimate.jackknife;
    let mut out = Record::default();
    out.text("claim", &answer.claim.name)
        .count("definitions", answer.definitions)
        .text("table", line.table)
        .text("label", line.label)
        .count("k", line.k)
        .count("turns", line.turns)
        .optional("within", line.within.map(u64::from))
        .text("outcome", line.outcome)
        .count("count", line.count)
        .count("of", line.of)
        .text("figure", figure)
        .figure("value", estimate.value)
        .figure("low", interval.map(|it| it.low))
        .figure("high", interval.map(|it| it.high));
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
