//! The sections of a claim's report on its evidence: the ladder, the comparison, twins, guards.

use hobble_report::number::{at_least, at_most, capital, percent};
use hobble_report::sections::{cell, cell_or};
use hobble_report::{Block, Cell, Record, Section, Table, Tone, Unit, Why};
use hobble_statistics::e_value::EValue;
use hobble_statistics::few::COVERED;
use hobble_statistics::sources::VANDERWEELE_DING;
use hobble_statistics::{Estimate, TooFew};

use super::answer::{
    Adjusted, ClaimAnswer, Compared, Guard, Rung, SideGuards, Standing, Twins, Varied,
};
use super::outcome::ClaimOutcome;
use super::plots;
use super::report_lines::{Line, named, record, section};
pub use super::report_words::title;
use super::side_words::milder as milder_pieces;
use hobble_conditions::words;

/// How far the evidence goes: a sentence a rung, the picture, the figures.
pub fn ladder(answer: &ClaimAnswer) -> Section {
    let mut section = Section::new("evidence", "How far the evidence goes");
    let sentences: Vec<String> = Rung::ALL
        .iter()
        .zip(&answer.sentences)
        .map(|(rung, sentence)| format!("{}. {sentence}", title(*rung)))
        .collect();
    section.list(&sentences);
    if !answer.claim.outcome.is_of_side() {
        section.block(Block::Plot(plots::evidence(answer)));
    } else if let Some(plot) = plots::evidence_of_side(answer) {
        section.block(Block::Plot(plot));
    }
    section.block(Block::Table(rungs(answer)));
    section
}

/// The rungs in figures.
fn rungs(answer: &ClaimAnswer) -> Table {
    let unit = difference(answer.claim.outcome);
    let (heading, holds) = match unit {
        None => (
            "Times as often",
            "above 1, the guards where the figure stays above theirs",
        ),
        Some(_) => (
            "Difference",
            "below 0: worse for the owner; of the guard it is the claim\u{2019}s difference less the guard\u{2019}s",
        ),
    };
    // A mean is over every piece: there are no events to count.
    let events = unit.is_none().then_some("With the outcome");
    let columns = ["Rung", heading]
        .into_iter()
        .chain(events)
        .chain(["Stands"]);
    let mut table = Table::new(columns).captioned(format!(
        "The rungs from the lowest; a rung holds where its 95% interval lies {holds}"
    ));
    for (rung, standing) in &answer.evidence.rungs {
        let found = standing.finding();
        let figure = match (standing, unit) {
            (Standing::Mean { difference, .. }, Some(unit)) => cell(unit, difference),
            _ => found.map_or(Cell::Empty, |found| cell(Unit::Ratio, &found.estimate)),
        };
        let events = events.map(|_| found.map_or(Cell::Empty, |found| Cell::Count(found.events)));
        let cells = [figure].into_iter().chain(events);
        let cells = cells.chain([Cell::text(standing.name())]).collect();
        table.row(named(title(*rung), cells));
    }
    table
}

/// What a difference of two means of an outcome is measured in; `None` where it is an event, of
/// which ratios are given.
fn difference(outcome: ClaimOutcome) -> Option<Unit> {
    match outcome {
        ClaimOutcome::Score => Some(Unit::ScoreDifference),
        ClaimOutcome::Evaluation => Some(Unit::Pawns),
        _ => None,
    }
}

/// Columns of a comparison, behind what names its row.
const COMPARED: [&str; 6] = [
    "Pieces",
    "With the outcome",
    "Share",
    "Comparable free",
    "Times as often",
    "Difference, points",
];

fn why(few: Option<TooFew>) -> Why {
    few.map_or(Why::Undefined, |_| Why::TooFew)
}

fn compared(row: &Compared) -> Vec<Cell> {
    let why = why(row.too_few.as_ref().map(|lack| lack.few));
    vec![
        Cell::Count(row.held),
        Cell::Count(row.held_outcomes),
        cell_or(Unit::Share, &row.held_rate, why),
        cell_or(Unit::Share, &row.free_rate, why),
        cell_or(Unit::Ratio, &row.ratio, why),
        cell_or(Unit::Points, &row.difference, why),
    ]
}

/// Against comparable free pieces, at every horizon.
pub fn comparison(answer: &ClaimAnswer) -> Section {
    let mut table = Table::new(std::iter::once("Within").chain(COMPARED)).captioned(format!(
        "Share {} within so many moves, with 95% intervals",
        answer.claim.of_piece()
    ));
    for row in &answer.comparison {
        table.row(named(format!("{} moves", row.within), compared(row)));
    }
    let mut section = section("compared", "Against comparable free pieces", table);
    let own = answer
        .comparison
        .iter()
        .find(|row| row.within == answer.claim.within);
    if let Some(own) = own {
        section.paragraph(Tone::Plain, sizes(own));
    }
    section
}

/// What the comparison at the claim's horizon stands on.
fn sizes(row: &Compared) -> String {
    let effective = |rows: u64, effective: f64| {
        if (effective.round() as u64) < rows {
            format!(
                " (by their weights as good as {})",
                words::count(effective.round() as u64)
            )
        } else {
            String::new()
        }
    };
    format!(
        "Compared: {}{} with {} of free pieces{}, in {} strata. {} of the pieces have enough comparable ones ({} needed for a verdict).",
        words::counted(row.held_rows, "row"),
        effective(row.held_rows, row.held_effective),
        words::counted(row.compared_free_rows, "row"),
        effective(row.compared_free_rows, row.compared_free_effective),
        words::count(row.strata),
        row.covered.map_or_else(|| "None".to_owned(), percent),
        percent(COVERED),
    )
}

/// Twins, with more and less adjusted for.
pub fn twins(answer: &ClaimAnswer) -> Section {
    let mut table = Table::new([
        "Adjusted for",
        "Positions",
        "That count",
        "Lost, such pieces",
        "Lost, free",
        "Times as often",
    ])
    .captioned(
        "Pieces of one kind and owner in one position, one such and one free; a position counts where one met the outcome and another did not. Odds ratios, for outcomes this rare about ratios of shares; 95% intervals, clustered by games and players",
    );
    for twins in &answer.twins {
        let Twins { counts, .. } = twins;
        let few = (counts.telling < super::twins::LEAST).then_some(TooFew::Nothing);
        table.row(named(
            adjusted(twins.adjusted),
            vec![
                Cell::Count(counts.sets),
                Cell::Count(counts.telling),
                Cell::Part(counts.own_met, counts.own),
                Cell::Part(counts.free_met, counts.free),
                match few {
                    Some(_) => Cell::None(Why::TooFew, None),
                    None => cell(Unit::Ratio, &twins.odds_ratio),
                },
            ],
        ));
    }
    section("twins", "Twins in one position", table)
}

fn adjusted(adjusted: Adjusted) -> &'static str {
    match adjusted {
        Adjusted::Place => "Defended, squares before, row, edge (the claim)",
        Adjusted::Nothing => "Nothing (must hold as well)",
        Adjusted::Before => "Defended, squares before",
        Adjusted::Attacked => "The claim\u{2019}s, and attacked by then",
    }
}

/// The guards.
pub fn guards(answer: &ClaimAnswer) -> Section {
    let guards = &answer.guards;
    if let Some(side) = &guards.side {
        return guards_of_side(answer, side);
    }
    let mut table = Table::new([
        "What should show nothing",
        "Times as often",
        "The claim, above that",
        "Holds",
    ])
    .captioned("If the restraint itself is what counts, these figures lie near 1, and the claim\u{2019}s own lies above them; 95% intervals");
    let mut row = |name: &str, guard: &Guard| {
        let why = why(guard.few);
        table.row(named(
            name,
            vec![
                cell_or(Unit::Ratio, &guard.ratio, why),
                cell_or(Unit::Ratio, &guard.beyond, why),
                Cell::text(match (guard.few, guard.holds) {
                    (Some(_), _) => "too few games",
                    (None, true) => "yes",
                    (None, false) => "no",
                }),
            ],
        ));
    };
    row("Another piece of that side lost", &guards.others);
    if let Some(placebo) = &guards.placebo {
        row("Squares taken, but more than k left", placebo);
    }
    let mut section = section("guards", "Guards", table);
    note_e_value(&mut section, guards.e_value, "");
    section
}

fn note_e_value(section: &mut Section, e_value: Option<EValue>, of: &str) {
    let Some(EValue { estimate, limit }) = e_value else {
        return;
    };
    section.paragraph(
        Tone::Plain,
        format!(
            "E-value{of}: an unknown cause would have to go with both the restraint and the outcome {estimate:.1} times as often to explain the figure away, {limit:.1} times for the nearer end of its interval ({}).",
            VANDERWEELE_DING.brief(),
        ),
    );
}

/// The guards of a claim about the side.
fn guards_of_side(answer: &ClaimAnswer, guards: &SideGuards) -> Section {
    let unit = difference(answer.claim.outcome);
    let (heading, less) = match unit {
        None => ("Times as often", "The claim, above that"),
        Some(_) => ("Difference", "The claim, less that"),
    };
    let mut table = Table::new(["Restrained less", "Pieces", heading, less, "Holds"]).captioned(
        "Pieces that a quiet move left more squares than the claim asks for, otherwise like the claim\u{2019}s and restrained as long, beside comparable free ones. If the last squares are what counts, the claim\u{2019}s figure is the worse one; 95% intervals",
    );
    if let Some(milder) = &guards.placebo {
        let why = why(milder.few);
        let (figure, unit) = match (unit, milder.sides.ratio) {
            (None, Some(ratio)) => (ratio, Unit::Ratio),
            (unit, _) => (milder.sides.difference, unit.unwrap_or(Unit::Points)),
        };
        table.row(named(
            capital(&milder_pieces(&answer.claim)),
            vec![
                Cell::Count(milder.sides.held),
                cell_or(unit, &figure, why),
                cell_or(unit, &milder.beyond, why),
                Cell::text(match (milder.few, milder.holds) {
                    (Some(_), _) => "too few games",
                    (None, true) => "yes",
                    (None, false) => "no",
                }),
            ],
        ));
    }
    let mut section = section("guards", "Guards", table);
    let of = match answer.claim.outcome {
        ClaimOutcome::Score => " of the ratio of the two mean scores",
        _ => "",
    };
    note_e_value(&mut section, guards.e_value, of);
    section
}

/// The comparison with one choice changed at a time.
pub fn sensitivity(answer: &ClaimAnswer) -> Section {
    let claim = &answer.claim;
    let mut table = Table::new(std::iter::once("Choice").chain(COMPARED)).captioned(format!(
        "One choice changed at a time, within {} moves; the horizons are in the table above. 95% intervals",
        claim.within
    ));
    for row in &answer.sensitivity {
        let (name, own) = match row.varied {
            Varied::K => (at_most(row.k.into(), "safe square"), row.k == claim.k),
            Varied::Turns => (
                format!("held {}", at_least(row.turns.into(), "turn")),
                row.turns == claim.turns,
            ),
            Varied::Outcome => (
                format!("counted: {}", row.outcome),
                row.outcome == claim.of_piece(),
            ),
            Varied::Within => (
                format!("within {} moves", row.within),
                row.within == claim.within,
            ),
            Varied::NotTraded => ("traded or sold pieces left out".to_owned(), false),
            Varied::AttackedToo => ("attacked by then matched too".to_owned(), false),
            Varied::PlaceToo => ("row and edge of the board matched too".to_owned(), false),
            Varied::BeforeOnly => ("defended and others held not matched".to_owned(), false),
            Varied::PositionOut => (
                "material, move, squares before, others held not matched".to_owned(),
                false,
            ),
            Varied::EvenGames => ("half of the games".to_owned(), false),
            Varied::OddGames => ("the other half".to_owned(), false),
        };
        let claim = if own { " (the claim)" } else { "" };
        table.row(named(format!("{}{claim}", capital(&name)), compared(row)));
    }
    section("otherwise", "Had it been counted otherwise", table)
}

/// Lines of the tidy table on a comparison.
pub(super) fn compared_records(answer: &ClaimAnswer, table: &str, row: &Compared) -> [Record; 4] {
    let held = (row.compared_held_outcomes, row.compared_held);
    let free = (row.compared_free_outcomes, row.compared_free);
    [
        ("held rate", &row.held_rate, held),
        ("free rate", &row.free_rate, free),
        ("ratio", &row.ratio, held),
        ("difference", &row.difference, held),
    ]
    .map(|(figure, estimate, (count, of))| {
        let line = Line {
            table,
            label: row.varied.name(),
            k: row.k,
            turns: row.turns,
            within: Some(row.within),
            outcome: row.outcome.name(),
            count,
            of,
        };
        record(answer, &line, figure, estimate)
    })
}

/// Lines of the tidy table on rungs, twins and guards.
pub(super) fn records(answer: &ClaimAnswer) -> Vec<Record> {
    let claim = &answer.claim;
    let line = |table, label, count, of| Line {
        table,
        label,
        k: claim.k,
        turns: claim.turns,
        within: Some(claim.within),
        outcome: claim.of_piece().name(),
        count,
        of,
    };
    let mut records = Vec::new();
    for (rung, standing) in &answer.evidence.rungs {
        let none = Estimate {
            value: None,
            jackknife: None,
        };
        let found = standing.finding();
        let line = line(
            "evidence",
            rung.name(),
            found.map_or(0, |found| found.events),
            0,
        );
        let estimate = found.map_or(none, |found| found.estimate);
        records.push(record(answer, &line, standing.name(), &estimate));
    }
    for twins in &answer.twins {
        let line = line(
            "twins",
            twins.adjusted.name(),
            twins.counts.own_met,
            twins.counts.own,
        );
        records.push(record(answer, &line, "odds ratio", &twins.odds_ratio));
    }
    let guards = [
        ("others", Some(&answer.guards.others)),
        ("placebo", answer.guards.placebo.as_ref()),
    ];
    for (label, guard) in guards {
        let Some(guard) = guard else { continue };
        let line = line("guards", label, guard.events[0], 0);
        records.push(record(answer, &line, "ratio", &guard.ratio));
        records.push(record(answer, &line, "claim divided by it", &guard.beyond));
    }
    let side = answer.guards.side.as_ref();
    if let Some(milder) = side.and_then(|side| side.placebo.as_ref()) {
        let line = Line {
            outcome: claim.outcome.name(),
            ..line(
                "guards",
                "placebo",
                milder.sides.held_rows,
                milder.sides.held,
            )
        };
        let figures = match milder.sides.ratio {
            Some(ratio) => [("ratio", ratio), ("claim divided by it", milder.beyond)],
            None => [
                ("difference", milder.sides.difference),
                ("claim less it", milder.beyond),
            ],
        };
        for (figure, estimate) in figures {
            records.push(record(answer, &line, figure, &estimate));
        }
    }
    records
}
