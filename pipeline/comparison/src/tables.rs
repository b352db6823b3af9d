//! The tables of a comparison: the figures, the counts, the figures without matching.

use hobble_report::{Block, Cell, Column, Figure, Section, Table, Unit, Why};

use super::words::{label, level, outcome};
use crate::answer::{Answer, Row, Side as Counts};
use hobble_report::sections::{self, bounds, cell};
use hobble_statistics::{Estimate, Interval};

fn add(table: &mut Table, row: &Row, cells: Vec<Cell>) {
    let named = std::iter::once(Cell::text(label(row))).chain(cells);
    if row.all {
        table.row_of_all(named.collect());
    } else {
        table.row(named.collect());
    }
}

pub(super) fn figures(answer: &Answer) -> Section {
    let mut table = Table::new([
        "Pieces",
        "Held",
        "Comparable free",
        "Times as often",
        "Difference, points",
    ])
    .captioned(format!(
        "Share {}, with {} intervals (delete-a-fold jackknife)",
        outcome(&answer.parameters),
        level(&answer.parameters)
    ));
    for row in &answer.rows {
        let s = &row.standardised;
        let why = if row.too_few.is_some() {
            Why::TooFew
        } else {
            Why::Undefined
        };
        let cells = vec![
            sections::cell_or(Unit::Share, &s.held_rate, why),
            sections::cell_or(Unit::Share, &s.free_rate, why),
            sections::cell_or(Unit::Ratio, &s.ratio, why),
            sections::cell_or(Unit::Points, &s.difference, why),
        ];
        add(&mut table, row, cells);
    }
    let mut section = Section::new("figures", "The figures");
    section.block(Block::Table(table));
    section
}

pub(super) fn counts(answer: &Answer) -> Table {
    let outcome = outcome(&answer.parameters);
    let mut columns: Vec<Column> = vec!["Pieces".into()];
    for group in ["Held", "Free"] {
        for name in [
            "turns",
            outcome.as_str(),
            "game over first",
            "folds: all / with outcome",
        ] {
            columns.push((group, name).into());
        }
    }
    columns.push(("Comparison", "strata: used / left out").into());
    columns.push(("Comparison", "held left out: turns / outcomes").into());
    let mut table = Table::new(columns)
        .captioned("A turn is one turn of the owner times one piece; each game gives many");
    for row in &answer.rows {
        let mut cells = Vec::new();
        for side in [&row.held, &row.free] {
            cells.extend([
                Cell::Count(side.turns),
                Cell::Count(side.outcomes),
                Cell::Count(side.over),
                Cell::Pair(side.folds.into(), side.outcome_folds.into()),
            ]);
        }
        let s = &row.standardised;
        cells.push(Cell::Pair(s.strata, s.strata_left_out));
        cells.push(Cell::Pair(s.held_turns_left_out, s.held_outcomes_left_out));
        add(&mut table, row, cells);
    }
    table
}

pub(super) fn unmatched(answer: &Answer) -> Table {
    let mut table = Table::new([
        "Pieces",
        "Held: jackknife, Wilson",
        "Free: jackknife, Wilson",
        "Ratio: jackknife, Katz",
        "Difference in points: jackknife, Newcombe",
    ])
    .captioned(format!(
        "Share {}, as it stands; {} intervals",
        outcome(&answer.parameters),
        level(&answer.parameters)
    ));
    let two = |unit, estimate: &Estimate, second: Option<Interval>| {
        let Some(value) = estimate.value else {
            return cell(unit, estimate);
        };
        let mut figure = Figure::new(unit, value, bounds(estimate.jackknife));
        figure.second = bounds(second);
        Cell::Figure(figure)
    };
    let rate = |side: &Counts| {
        let estimate = Estimate {
            value: side.rate,
            jackknife: side.jackknife,
        };
        two(Unit::Share, &estimate, side.wilson)
    };
    for row in &answer.rows {
        let raw = &row.raw;
        let cells = vec![
            rate(&row.held),
            rate(&row.free),
            two(Unit::Ratio, &raw.ratio, raw.ratio_katz),
            two(Unit::Points, &raw.difference, raw.difference_newcombe),
        ];
        add(&mut table, row, cells);
    }
    table
}
