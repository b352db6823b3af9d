//! The tables of a comparison: the figures, the counts, the figures without matching.

use hobble_report::{Block, Bounds, Cell, Column, Section, Table, Unit, Why, number};

use super::words::{label, level, outcome};
use crate::answer::{Answer, Row, Side as Counts};
use hobble_report::sections;
use hobble_statistics::Estimate;

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
        answer.parameters.state_as_heading(),
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
            sections::cell_or(Unit::Share, &s.restricted_rate, why),
            sections::cell_or(Unit::Share, &s.free_rate, why),
            sections::cell_or(Unit::Ratio, &s.ratio, why),
            sections::cell_or(Unit::Points, &s.difference, why),
        ];
        add(&mut table, row, cells);
    }
    let mut section = Section::new("figures", "The figures");
    section.block(Block::Table(table));
    if answer.rows.iter().any(|row| row.against_all.is_some()) {
        section.block(Block::Table(against_all(answer)));
    }
    section
}

/// Each group's ratio over that of all groups.
fn against_all(answer: &Answer) -> Table {
    let mut table = Table::new(["Pieces", "Ratio over that of all", "p by Holm"]).captioned(
        "Does it weigh more in one group than in all together? \u{201c}Times as often\u{201d} of the group over that of all groups, with 95% intervals; p of its being 1, adjusted for the groups",
    );
    for row in answer.rows.iter().filter(|row| !row.all) {
        let cells = match row.against_all {
            Some(one) => {
                let bounds = Bounds {
                    low: one.low,
                    high: one.high,
                };
                vec![
                    Cell::figure(Unit::Ratio, Some(one.value), Some(bounds)),
                    Cell::text(number::p_in_words(one.p_holm)),
                ]
            }
            None => vec![Cell::None(Why::TooFew, None), Cell::Empty],
        };
        add(&mut table, row, cells);
    }
    table
}

pub(super) fn counts(answer: &Answer) -> Table {
    let outcome = outcome(&answer.parameters);
    let mut columns: Vec<Column> = vec!["Pieces".into()];
    for group in [answer.parameters.state_as_heading(), "Free"] {
        for name in [
            "rows",
            "turns they stand for",
            outcome.as_str(),
            "game over first",
            "folds: all / with outcome",
        ] {
            columns.push((group, name).into());
        }
    }
    columns.push(("Comparison", "strata: used / left out").into());
    columns.push(("Comparison", "left out: turns / outcomes").into());
    let mut table = Table::new(columns)
        .captioned("A turn is one turn of the owner times one piece; each game gives many. Turns at which a piece is at the landmark of a restraint are all in the table, of the others a sample: each row stands for as many turns as its share of the sample says");
    for row in &answer.rows {
        let mut cells = Vec::new();
        for side in [&row.restricted, &row.free] {
            cells.extend([
                Cell::Count(side.rows),
                Cell::Count(side.turns),
                Cell::Count(side.outcomes),
                Cell::Count(side.over),
                Cell::Pair(side.folds.into(), side.outcome_folds.into()),
            ]);
        }
        let s = &row.standardised;
        cells.push(Cell::Pair(s.strata, s.strata_left_out));
        cells.push(Cell::Pair(
            s.restricted_turns_left_out,
            s.restricted_outcomes_left_out,
        ));
        add(&mut table, row, cells);
    }
    table
}

pub(super) fn unmatched(answer: &Answer) -> Table {
    let mut table = Table::new([
        "Pieces",
        answer.parameters.state_as_heading(),
        "Free",
        "Times as often",
        "Difference, points",
    ])
    .captioned(format!(
        "Share {}, as it stands; {} intervals",
        outcome(&answer.parameters),
        level(&answer.parameters)
    ));
    let rate = |side: &Counts| Estimate {
        value: side.rate,
        jackknife: side.jackknife,
    };
    for row in &answer.rows {
        let cells = vec![
            sections::cell(Unit::Share, &rate(&row.restricted)),
            sections::cell(Unit::Share, &rate(&row.free)),
            sections::cell(Unit::Ratio, &row.raw.ratio),
            sections::cell(Unit::Points, &row.raw.difference),
        ];
        add(&mut table, row, cells);
    }
    table
}
