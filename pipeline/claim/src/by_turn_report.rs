//! The section of a claim's report on the risk turn by turn.

use hobble_conditions::words;
use hobble_report::plot::{Dot, Dots, Drawing, Row, Scale, ends};
use hobble_report::sections::{cell, cell_or};
use hobble_report::{Block, Cell, Plot, Record, Section, Table, Tone, Unit, Why};
use hobble_statistics::Estimate;
use hobble_statistics::sources::{LIN_WEI, PRENTICE_GLOECKLER};

use super::answer::{ClaimAnswer, Risk};
use super::report_lines::{Line, named, record};
use super::report_words::since;

/// Turns that are drawn.
const DRAWN: usize = 10;

/// The risk turn by turn: picture, table, and the ratio of both states.
pub fn section(answer: &ClaimAnswer) -> Section {
    let mut section = Section::new("by-turn", "The risk turn by turn");
    if answer.spells == 0 {
        section.document(Block::Paragraph(
            Tone::Plain,
            format!("No piece was {} so in these games.", answer.claim.state()),
        ));
        return section;
    }
    let state = answer.claim.state();
    let happened = words::happened(answer.claim.of_piece());
    if answer.by_turn.ratio.jackknife.is_some() {
        section.paragraph(
            Tone::Plain,
            format!(
                "At the same turn a piece that is still {state} is {happened} {} before its owner\u{2019}s next turn as one that is free again.",
                super::times_words::times(answer.by_turn.ratio)
            ),
        );
    }
    section
        .document(Block::Plot(plot(answer)))
        .document(Block::Table(table(answer)));
    section.document(Block::Paragraph(
        Tone::Quiet,
        format!(
            "The hazard of this cause: of the pieces on the board at a turn of their owner, the share that meets it before the next. A piece is followed once, from its first spell, and counts at each turn as it is then; it leaves the number at risk when it is captured in any way or the game ends. Intervals are clustered by folds of games ({}; {}).",
            PRENTICE_GLOECKLER.brief(),
            LIN_WEI.brief(),
        ),
    ));
    section
}

fn plot(answer: &ClaimAnswer) -> Plot {
    let state = answer.claim.state();
    let outcome = answer.claim.of_piece();
    let dot = |risk: &Risk| {
        let value = risk.hazard.value?;
        Some(Dot {
            value,
            interval: ends(Some(risk.hazard.jackknife?)),
            text: hobble_report::number::percent(value),
        })
    };
    let turns = answer.by_turn.turns.iter().take(DRAWN);
    let rows = turns.clone().map(|at| Row {
        label: format!("turn {}", at.turn),
        all: false,
        dots: vec![dot(&at.restrained), dot(&at.freed)],
        missing: "too few games".to_owned(),
    });
    let said = turns.filter_map(|at| {
        let restrained = at.restrained.hazard.value?;
        Some(format!(
            "turn {} {}",
            at.turn,
            hobble_report::number::percent(restrained)
        ))
    });
    let said: Vec<String> = said.collect();
    Plot {
        name: "by-turn".to_owned(),
        title: format!("Share {outcome} before the next turn"),
        words: format!("While still {state}: {}.", said.join(", ")),
        caption: format!(
            "Of the pieces on the board at each turn {}, by whether they are {state} then; whiskers are 95% intervals.",
            since(answer)
        ),
        drawing: Drawing::Dots(Dots {
            series: vec![format!("still {state}"), "free again".to_owned()],
            rows: rows.collect(),
            scale: Scale::Share,
            axis: format!("share {outcome} before the next turn"),
        }),
    }
}

fn table(answer: &ClaimAnswer) -> Table {
    let state = answer.claim.state();
    let mut table = Table::new([
        "Turn".to_owned(),
        format!("Still {state}"),
        format!("Share {}", answer.claim.of_piece()),
        "Free again".to_owned(),
        format!("Share {}", answer.claim.of_piece()),
    ])
    .captioned(format!(
        "Pieces at risk at each turn {}, and the share of them {} before the next; 95% intervals",
        since(answer),
        answer.claim.of_piece()
    ));
    let share = |risk: &Risk| match risk.hazard.jackknife {
        Some(_) => cell(Unit::Share, &risk.hazard),
        None if risk.at_risk == 0 => Cell::Empty,
        None => cell_or(
            Unit::Share,
            &Estimate {
                value: None,
                jackknife: None,
            },
            Why::TooFew,
        ),
    };
    for at in &answer.by_turn.turns {
        table.row(named(
            at.turn.to_string(),
            vec![
                Cell::Count(at.restrained.at_risk),
                share(&at.restrained),
                Cell::Count(at.freed.at_risk),
                share(&at.freed),
            ],
        ));
    }
    table
}

/// Lines of the tidy table.
pub fn records(answer: &ClaimAnswer) -> Vec<Record> {
    let claim = &answer.claim;
    let line = |label, within, count, of| Line {
        table: "by turn",
        label,
        k: claim.k,
        turns: claim.turns,
        within,
        outcome: claim.of_piece().name(),
        count,
        of,
    };
    let mut records = Vec::new();
    for at in &answer.by_turn.turns {
        for (label, risk) in [(claim.state(), &at.restrained), ("free again", &at.freed)] {
            let line = line(label, Some(at.turn), risk.met, risk.at_risk);
            records.push(record(answer, &line, "hazard", &risk.hazard));
        }
    }
    let line = line("both", None, 0, 0);
    records.push(record(answer, &line, "hazard ratio", &answer.by_turn.ratio));
    records
}
