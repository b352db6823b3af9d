//! The section of a claim's report on chances: how many there were and were taken, and what came
//! of it.

use hobble_report::number::percent;
use hobble_report::sections::cell_or;
use hobble_report::{Cell, Record, Section, Table, Tone, Unit, Why};

use super::answer::ClaimAnswer;
use super::decision::{Against, PlayedAgainst};
use super::outcome::ClaimOutcome;
use super::report_lines::{Line, named, record, section};
use hobble_conditions::words;

/// Played against not played; `None` where it is not measured.
pub fn decision(answer: &ClaimAnswer) -> Option<Section> {
    let decision = answer.decision.as_ref()?;
    let mut table = Table::new([
        "Compared with",
        "Turns played",
        "With the outcome",
        "Share where played",
        "Where not",
        "Times as often",
        "Another piece lost, times as often",
        "Score, hundredths of a point",
    ])
    .captioned(format!(
        "Turns at which a restraining move was there: it was played, or not. Outcome within {} moves of the turn; score of the side on move, in points a game. 95% intervals",
        answer.claim.within
    ));
    for row in &decision.compared {
        table.row(named(name(row.against), cells(answer, row)));
    }
    let mut section = section("decision", "Played against not played", table);
    let share = decision.share.map_or_else(|| "none".to_owned(), percent);
    section.paragraph(
        Tone::Plain,
        format!(
            "{} at which such a move was there ({} in the sample); it was played at {share} of them.",
            words::counted(decision.chances, "turn"),
            words::count(decision.rows),
        ),
    );
    if let Some(e_value) = decision.own().and_then(|own| own.e_value) {
        section.paragraph(
            Tone::Plain,
            format!(
                "E-value: an unknown cause would have to go with both the move and the outcome {:.1} times as often to explain the figure away, {:.1} times for the nearer end of its interval.",
                e_value.estimate, e_value.limit
            ),
        );
    }
    Some(section)
}

const fn name(against: Against) -> &'static str {
    match against {
        Against::AnythingElse => "Anything else (the claim)",
        Against::OtherQuiet => "Another quiet move that gives nothing away",
    }
}

fn cells(answer: &ClaimAnswer, row: &PlayedAgainst) -> Vec<Cell> {
    let why = row.too_few.as_ref().map_or(Why::Undefined, |_| Why::TooFew);
    let is_event = answer.claim.outcome != ClaimOutcome::Score;
    let event = |cell: Cell| if is_event { cell } else { Cell::Empty };
    vec![
        Cell::Count(row.played),
        event(Cell::Count(row.outcomes)),
        event(cell_or(Unit::Share, &row.rate, why)),
        event(cell_or(Unit::Share, &row.not_played_rate, why)),
        event(cell_or(Unit::Ratio, &row.ratio, why)),
        cell_or(Unit::Ratio, &row.others, why),
        cell_or(Unit::Points, &row.score_difference, why),
    ]
}

/// Lines of the tidy table.
pub(super) fn records(answer: &ClaimAnswer) -> Vec<Record> {
    let claim = &answer.claim;
    let compared = answer.decision.iter().flat_map(|one| &one.compared);
    compared
        .flat_map(|row| {
            let played = (row.outcomes, row.played);
            let other = (row.not_played_outcomes, row.not_played);
            [
                ("rate", &row.rate, played),
                ("rate not played", &row.not_played_rate, other),
                ("ratio", &row.ratio, played),
                ("difference", &row.difference, played),
                ("ratio of others lost", &row.others, played),
                ("score", &row.score, (0, row.played)),
                (
                    "score not played",
                    &row.not_played_score,
                    (0, row.not_played),
                ),
                ("score difference", &row.score_difference, (0, row.played)),
            ]
            .map(|(figure, estimate, (count, of))| {
                let line = Line {
                    table: "decision",
                    label: row.against.name(),
                    k: claim.k,
                    turns: claim.turns,
                    within: Some(claim.within),
                    outcome: claim.outcome.name(),
                    count,
                    of,
                };
                record(answer, &line, figure, estimate)
            })
        })
        .collect()
}
