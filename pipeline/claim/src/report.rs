//! The report on a claim.

use hobble_report::Made;
use hobble_report::number::capital;
use hobble_report::{Block, Cell, Fact, Record, Report, Section, Table, Tidy, Tone, Unit};

use super::answer::{ClaimAnswer, Finds, Score, Shares};
pub use super::games::example_games;
use super::report_lines::{Line, named, record, section};
use super::report_words::since;
use super::{by_turn_report, decision_report, evidence_report, plots, side_report};
use hobble_conditions::words;
use hobble_report::sections::{self, cell};

/// The report on a claim.
pub fn report(answer: &ClaimAnswer) -> Report<'_> {
    let mut sections = vec![
        found(answer),
        evidence_report::ladder(answer),
        games(answer),
        pictured(answer),
        evidence_report::comparison(answer),
        evidence_report::twins(answer),
        evidence_report::guards(answer),
        side_report::section(answer),
        curve(answer),
        ends(answer),
        by_turn_report::section(answer),
    ];
    if let Some(decision) = decision_report::decision(answer) {
        sections.insert(6, decision);
    }
    if !answer.scores.is_empty() {
        sections.push(scores(answer));
    }
    sections.push(evidence_report::sensitivity(answer));
    sections.push(material(answer));
    sections.extend(sections::ending(&answer.notes, &answer.dataset));
    Report {
        subject: "A training claim, put to played games",
        title: answer.claim.title.clone(),
        sections,
        made: Made::of(&answer.hobble, &answer.dataset.hobble, answer.definitions),
        tidy: tidy(answer),
        answer,
    }
}

/// The warning that goes with a verdict that does not give it itself.
pub fn caution(answer: &ClaimAnswer) -> Option<&'static str> {
    (!matches!(answer.verdict.finds, Finds::Holds { .. }))
        .then_some("Whatever these games show is an association, not proof of cause.")
}

fn found(answer: &ClaimAnswer) -> Section {
    let mut section = Section::new("found", "What the games say");
    section.paragraph(Tone::Lead, answer.verdict.to_string());
    if let Some(caution) = caution(answer) {
        section.paragraph(Tone::Caution, caution);
    }
    sections::own_words(&mut section, &answer.claim.text);
    let mut terms: Vec<Fact> = answer
        .claim
        .filters()
        .into_iter()
        .map(|(name, text)| Fact::new(name, capital(&text)))
        .collect();
    terms.push(Fact::new(
        "Safe square",
        "one the piece could go to without losing material at once.",
    ));
    terms.push(Fact::new("Lost", format!("{}.", words::LOST)));
    section.document(Block::Terms(terms));
    section
}

fn pictured(answer: &ClaimAnswer) -> Section {
    let mut section = Section::new("pictured", "In pictures");
    if answer.spells == 0 {
        let none = format!(
            "Nothing is drawn: no piece was {} so in these games.",
            answer.claim.state()
        );
        section.document(Block::Paragraph(Tone::Plain, none));
    } else {
        section
            .block(Block::Plot(plots::curve(answer)))
            .block(Block::Plot(plots::shares(answer)));
    }
    section
}

fn curve(answer: &ClaimAnswer) -> Section {
    let mut table =
        Table::new(["Moves", "Lost", "Traded", "Sold", "Game over"]).captioned(format!(
            "What had become of the {} piece, by moves {}",
            answer.claim.state(),
            since(answer)
        ));
    for point in &answer.curve {
        let alone = |shares: &Shares| Cell::figure(Unit::Share, shares.share.value, None);
        table.row(named(
            point.moves.to_string(),
            vec![
                cell(Unit::Share, &point.lost.share),
                alone(&point.traded),
                alone(&point.sold),
                alone(&point.over),
            ],
        ));
    }
    section("by-moves", "By each of the next moves", table)
}

fn shares(label: String, shares: &Shares) -> Vec<Cell> {
    named(
        label,
        vec![Cell::Count(shares.count), cell(Unit::Share, &shares.share)],
    )
}

fn ends(answer: &ClaimAnswer) -> Section {
    let mut table = Table::new(["End", "Spells", "Share"]).captioned(format!(
        "{} spells, each by how it ended; 95% intervals",
        words::count(answer.spells)
    ));
    for end in &answer.ends {
        table.row(shares(capital(&end.end), &end.share));
    }
    section("ends", "What ended the spells", table)
}

fn scores(answer: &ClaimAnswer) -> Section {
    let mut table = Table::new(["Spells", "Games", "Score", "Comparable sides", "Difference"])
        .captioned("Mean score (1 a win, 0.5 a draw) of the side that held the piece, once a game, against sides of games without such a spell, alike in rating band, rating difference and time class");
    for score in &answer.scores {
        table.row(named(
            capital(&score.label),
            vec![
                Cell::Count(score.games),
                cell(Unit::Score, &score.score),
                cell(Unit::Score, &score.comparable),
                cell(Unit::ScoreDifference, &score.difference),
            ],
        ));
    }
    section("scored", "What the restrainer scored", table)
}

fn material(answer: &ClaimAnswer) -> Section {
    let mut table = Table::new(["Within", "Spells", "Share"]).captioned("The piece lost, or its owner two pawns down, counted from the start of the spell. It has no comparison");
    for row in &answer.material {
        table.row(shares(format!("{} moves", row.within), &row.share));
    }
    section("wider", "A wider loss", table)
}

fn games(answer: &ClaimAnswer) -> Section {
    let mut section = Section::new("games", "From the games");
    if answer.examples.is_empty() {
        section.paragraph(Tone::Plain, "No game was found that shows it.");
        return section;
    }
    section.block(Block::Games(example_games(&answer.examples)));
    section
}

/// One line a figure; a column that a figure has no use for is empty.
fn tidy(answer: &ClaimAnswer) -> Tidy {
    let mut records = Vec::new();
    for row in &answer.comparison {
        records.extend(evidence_report::compared_records(answer, "comparison", row));
    }
    for row in &answer.sensitivity {
        records.extend(evidence_report::compared_records(
            answer,
            "sensitivity",
            row,
        ));
    }
    records.extend(evidence_report::records(answer));
    records.extend(decision_report::records(answer));
    records.extend(side_report::records(answer));
    let share = |table, label, within, outcome, shares: &Shares| {
        let line = Line {
            table,
            label,
            k: answer.claim.k,
            turns: answer.claim.turns,
            within,
            outcome,
            count: shares.count,
            of: answer.spells,
        };
        record(answer, &line, "share", &shares.share)
    };
    for point in &answer.curve {
        for (outcome, of) in [
            ("lost", &point.lost),
            ("traded", &point.traded),
            ("sold", &point.sold),
            ("game over", &point.over),
        ] {
            records.push(share("curve", "", Some(point.moves), outcome, of));
        }
    }
    records.extend(by_turn_report::records(answer));
    for end in &answer.ends {
        records.push(share("ends", &end.end, None, "", &end.share));
    }
    for row in &answer.material {
        let label = "lost or two pawns down";
        records.push(share("material", label, Some(row.within), "", &row.share));
    }
    for score in &answer.scores {
        records.extend(score_records(answer, score));
    }
    Tidy::of(records)
}

fn score_records(answer: &ClaimAnswer, score: &Score) -> [Record; 3] {
    [
        ("score", &score.score, score.compared_games),
        (
            "comparable score",
            &score.comparable,
            score.comparable_games,
        ),
        ("difference", &score.difference, score.compared_games),
    ]
    .map(|(figure, estimate, of)| {
        let line = Line {
            table: "score",
            label: &score.label,
            k: answer.claim.k,
            turns: answer.claim.turns,
            within: None,
            outcome: "",
            count: score.half_points,
            of,
        };
        record(answer, &line, figure, estimate)
    })
}
