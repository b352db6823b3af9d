//! The section of a claim's report on what became of the side and of the game.

use hobble_report::number::capital;
use hobble_report::sections::cell_or;
use hobble_report::{Block, Cell, Record, Section, Table, Tone, Unit, Why};
use hobble_statistics::Estimate;

use super::answer::{ClaimAnswer, SideOutcome};
use super::outcome::{ClaimOutcome, Measure};
use super::report_lines::{Line, named, record};
use super::side_words::sentence;
use hobble_conditions::words;

/// What became of the side and of the game: sentences, then the figures.
pub fn section(answer: &ClaimAnswer) -> Section {
    let mut section = Section::new("side", "More than the piece itself");
    if answer.side.is_empty() {
        section.paragraph(Tone::Plain, "No such piece was met.");
        return section;
    }
    let who = answer.claim.in_words();
    let shown = [ClaimOutcome::Score, ClaimOutcome::MaterialLost];
    let counted = answer
        .side
        .iter()
        .filter(|row| shown.contains(&row.outcome) && row.difference.jackknife.is_some());
    let sentences: Vec<String> = counted.map(|row| sentence(&who, row)).collect();
    section.list(&sentences);
    section.paragraph(
        Tone::Plain,
        "Compared as above, and alike in the rating difference of the two players. Where games have no ratings, whoever met the stronger opponent may have been restrained for that reason.",
    );
    let mut events = Table::new([
        "Its side",
        "Pieces",
        "Share",
        "Comparable free",
        "Times as often",
        "Difference, points",
    ])
    .captioned(
        "Share of such pieces whose side met it, beside comparable free ones; 95% intervals",
    );
    let mut means = Table::new([
        "Its side",
        "Pieces",
        "Mean",
        "Comparable free",
        "Difference",
    ])
    .captioned("Score: 1 a win, 0.5 a draw. Evaluation: its change in pawns, from the owner\u{2019}s side, no more than 10 pawns either way; 95% intervals");
    for row in &answer.side {
        match row.outcome.measure() {
            Measure::Event => events.row(named(capital(&label(row)), of_event(row))),
            Measure::Mean { .. } => means.row(named(capital(&label(row)), of_mean(row))),
        };
    }
    section.block(Block::Table(events));
    section.block(Block::Table(means));
    if !answer
        .side
        .iter()
        .any(|row| row.outcome == ClaimOutcome::Evaluation)
    {
        section.paragraph(Tone::Plain, "These games have no evaluations.");
    }
    section
}

/// What a row is about.
fn label(row: &SideOutcome) -> String {
    let within = row
        .within
        .map_or_else(String::new, |moves| words::counted(moves.into(), "move"));
    match row.outcome {
        ClaimOutcome::Score => "score".to_owned(),
        ClaimOutcome::Evaluation => format!("evaluation after {within}"),
        ClaimOutcome::MaterialLost => format!("two pawns down or more after {within}"),
        outcome => format!("{outcome} within {within}"),
    }
}

fn why(row: &SideOutcome) -> Why {
    (row.too_few.as_ref()).map_or(Why::Undefined, |_| Why::TooFew)
}

fn of_event(row: &SideOutcome) -> Vec<Cell> {
    let why = why(row);
    let ratio = |ratio: &Estimate| cell_or(Unit::Ratio, ratio, why);
    vec![
        Cell::Count(row.held),
        cell_or(Unit::Share, &row.held_value, why),
        cell_or(Unit::Share, &row.free_value, why),
        row.ratio.as_ref().map_or(Cell::Empty, ratio),
        cell_or(Unit::Points, &row.difference, why),
    ]
}

fn of_mean(row: &SideOutcome) -> Vec<Cell> {
    let why = why(row);
    let (mean, difference) = match row.outcome {
        ClaimOutcome::Score => (Unit::Score, Unit::ScoreDifference),
        _ => (Unit::Pawns, Unit::Pawns),
    };
    vec![
        Cell::Count(row.held),
        cell_or(mean, &row.held_value, why),
        cell_or(mean, &row.free_value, why),
        cell_or(difference, &row.difference, why),
    ]
}

/// The lines of the tidy table.
pub(super) fn records(answer: &ClaimAnswer) -> Vec<Record> {
    let of = |row: &SideOutcome| {
        let figures = [
            ("value", Some(row.held_value)),
            ("comparable value", Some(row.free_value)),
            ("ratio", row.ratio),
            ("difference", Some(row.difference)),
        ];
        let line = Line {
            table: "side",
            label: "",
            k: answer.claim.k,
            turns: answer.claim.turns,
            within: row.within,
            outcome: row.outcome.name(),
            count: row.held_rows,
            of: row.held,
        };
        let record = |(name, estimate): (&str, Option<Estimate>)| {
            estimate.map(|estimate| record(answer, &line, name, &estimate))
        };
        figures.into_iter().filter_map(record).collect::<Vec<_>>()
    };
    answer.side.iter().flat_map(of).collect()
}
