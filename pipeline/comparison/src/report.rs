//! The report on a comparison of restrained or held pieces with free ones.

use hobble_report::Made;
use hobble_report::number::{at_most, capital};
use hobble_report::{Block, Fact, Item, Report, Section, Tone, sections};

use super::games::examples;
use super::plots;
use super::tables::{counts, figures, unmatched};
use super::tidy::tidy;
use super::words::{label, level, outcome};
use crate::answer::{Answer, Parameters, Row};
use hobble_conditions::terms::{Key, Outcome};
use hobble_conditions::words;
use hobble_statistics::Estimate;

/// Most groups that get a sentence of their own; with more, the table says it.
const MOST_SENTENCES: usize = 8;

/// The report on a comparison.
pub fn report(answer: &Answer) -> Report<'_> {
    let mut found = found(answer);
    found.document(Block::Terms(terms(&answer.parameters)));
    Report {
        subject: "Restraint in played games",
        title: answer.question.title.clone(),
        sections: vec![
            found,
            pictured(answer),
            figures(answer),
            examples(answer),
            method(answer),
            cautions(answer),
            sections::data(&answer.dataset),
        ],
        made: Made::of(&answer.hobble, &answer.dataset.hobble, answer.definitions),
        tidy: tidy(answer),
        answer,
    }
}

/// The answer in a sentence, a sentence a group, and what they are not.
fn found(answer: &Answer) -> Section {
    let mut section = Section::new("found", "What was found");
    let lead = answer
        .rows
        .iter()
        .find(|row| row.all)
        .or_else(|| answer.rows.first())
        .map_or_else(
            || "Nothing was found that answers the question.".to_owned(),
            verdict,
        );
    section.paragraph(Tone::Lead, lead);
    let groups = answer.rows.iter().filter(|row| !row.all).count();
    let items = answer
        .rows
        .iter()
        .filter(|row| row.all || groups <= MOST_SENTENCES)
        .map(|row| Item {
            name: Some(label(row)).filter(|_| row.too_few.is_some() || row.all),
            // The row of all has said its sentence above.
            text: if row.all || answer.rows.len() == 1 {
                String::new()
            } else {
                verdict(row)
            },
            remarks: if much_left_out(row) {
                row.remarks.clone()
            } else {
                Vec::new()
            },
        })
        .filter(|item| !item.text.is_empty() || !item.remarks.is_empty());
    section.list(items);
    section.paragraph(
        Tone::Caution,
        "These are associations in played games, not proof of cause: a piece may have few squares because its owner already stood worse.",
    );
    section
}

/// What a row says: what was found, or how many games are missing.
fn verdict(row: &Row) -> String {
    row.too_few.as_ref().map_or_else(
        || row.verdict.clone(),
        |lack| capital(&format!("{}.", lack.plainly())),
    )
}

/// Whether more than one restricted piece in a hundred found nothing to be compared with.
fn much_left_out(row: &Row) -> bool {
    let compared = &row.standardised;
    let left_out = compared.restricted_turns_left_out;
    left_out.saturating_mul(100) > left_out.saturating_add(compared.restricted_turns)
}

/// The words a reader needs for the first figure.
fn terms(parameters: &Parameters) -> Vec<Fact> {
    let what = match parameters.outcome {
        Outcome::Lost => words::LOST,
        Outcome::Captured => "captured, at whatever price",
        Outcome::Traded => "captured, and paid for: neither lost nor sold",
        Outcome::Sold => {
            "captured in a run of captures that brought its owner two pawns\u{2019} worth or more"
        }
    };
    let like = matched(&parameters.strata);
    let comparable = if like.is_empty() {
        "a piece with more safe squares than that; nothing else need be equal.".to_owned()
    } else {
        format!(
            "a piece with more safe squares than that, alike in {like}, in the same mix as the {} ones.",
            parameters.state()
        )
    };
    let squares = at_most(parameters.k.into(), "safe square");
    let safe = "squares it could go to without losing material at once";
    let state = if parameters.is_of_restrained() {
        format!(
            "a quiet move of the opponent left the developed piece {squares} ({safe}), without attacking it, and at its owner\u{2019}s next turn it still has no more. What follows is counted from there."
        )
    } else {
        format!("at its owner\u{2019}s turn the developed piece has {squares}: {safe}.")
    };
    let counted = if parameters.is_of_restrained() {
        "of that."
    } else {
        "of that turn."
    };
    vec![
        Fact::new(parameters.state_as_heading(), state),
        Fact::new(
            capital(parameters.outcome.name()),
            format!("{what}, within {} moves {counted}", parameters.within),
        ),
        Fact::new("Comparable free", comparable),
    ]
}

/// What compared pieces have in common.
fn matched(keys: &[Key]) -> String {
    let said = |key: &Key| {
        match key {
            Key::Kind => "kind",
            Key::Phase => "phase of the game",
            Key::Band => "rating band",
            Key::TimeClass => "time class",
            Key::RatingDiff => "rating difference",
            Key::Attacked => "being attacked or not",
            Key::Defended => "being defended or not",
            Key::Move => "number of the move by ten",
            Key::Balance => "material (behind, level, ahead)",
            Key::SquaresBefore => "safe squares two turns before",
            Key::OthersHeld => "other pieces held",
        }
        .to_owned()
    };
    words::list(&keys.iter().map(said).collect::<Vec<_>>())
}

/// A figure without an interval is not drawn: it would look certain.
fn pictured(answer: &Answer) -> Section {
    let mut section = Section::new("pictured", "In pictures");
    let drawn = |of: fn(&Row) -> Estimate| {
        let has = |estimate: Estimate| estimate.value.is_some() && estimate.jackknife.is_some();
        answer.rows.iter().any(|row| has(of(row)))
    };
    if drawn(|row| row.standardised.restricted_rate) || drawn(|row| row.standardised.free_rate) {
        section.block(Block::Plot(plots::shares(answer)));
    }
    if drawn(|row| row.standardised.ratio) {
        section.block(Block::Plot(plots::ratios(answer)));
    }
    if section.blocks.is_empty() {
        let none = "Nothing is drawn: the games are too few in every group.".to_owned();
        section.document(Block::Paragraph(Tone::Plain, none));
    }
    section
}

fn method(answer: &Answer) -> Section {
    let mut section = Section::new("method", "How this was worked out");
    sections::own_words(&mut section, &answer.question.text);
    section
        .block(Block::Heading("What was asked".to_owned()))
        .block(Block::Facts(asked(&answer.parameters)))
        .block(Block::Heading("The counts".to_owned()))
        .block(Block::Table(counts(answer)));
    section.list(answer.rows.iter().flat_map(|row| {
        row.remarks.iter().map(|remark| Item {
            name: Some(label(row)),
            text: remark.clone(),
            remarks: Vec::new(),
        })
    }));
    section
        .block(Block::Heading("Without matching".to_owned()))
        .paragraph(
            Tone::Plain,
            "Against all free pieces, whatever else differs.",
        )
        .block(Block::Table(unmatched(answer)));
    sections::methods(&mut section, &answer.methods);
    section
}

/// What was asked, filter by filter, so that it can be asked again.
fn asked(parameters: &Parameters) -> Vec<Fact> {
    let kinds: Vec<String> = parameters
        .kinds
        .iter()
        .map(|kind| format!("{kind}s"))
        .collect();
    let mut asked = vec![
        Fact::new("Pieces", words::list(&kinds)),
        Fact::new(
            parameters.state_as_heading(),
            at_most(parameters.k.into(), "safe square"),
        ),
        Fact::new("Counted", outcome(parameters)),
    ];
    let said = parameters.said().into_iter();
    asked.extend(said.map(|said| Fact::new(said.name, said.words)));
    let like = matched(&parameters.strata);
    let like = if like.is_empty() {
        "every free piece".to_owned()
    } else {
        format!("free pieces alike in {like}")
    };
    asked.push(Fact::new("Compared with", like));
    asked.push(Fact::new(
        "Intervals",
        format!(
            "{}, given from {} rows in {} folds on each side, {} of them with the outcome",
            level(parameters),
            words::count(parameters.minimum_turns),
            parameters.minimum_folds,
            parameters.minimum_outcome_folds
        ),
    ));
    asked
}

fn cautions(answer: &Answer) -> Section {
    let matching =
        "Matching makes the two sides alike only in what is listed under \u{201c}Compared with\u{201d}."
            .to_owned();
    sections::cautions(std::iter::once(&matching).chain(&answer.notes))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn one_record_a_row_and_no_name_twice() {
        let answer = sample::answer();
        let tidy = tidy(&answer);
        assert_eq!(tidy.records.len(), answer.rows.len());
        let mut unique = tidy.columns.clone();
        unique.sort_unstable();
        unique.dedup();
        assert_eq!(unique.len(), tidy.columns.len(), "a name stands twice");
        let csv = hobble_report::csv(&report(&answer));
        let lines: Vec<&str> = csv.split_terminator("\r\n").collect();
        let names: Vec<&str> = lines[0].split(',').collect();
        let cells: Vec<&str> = lines[1].split(',').collect();
        assert_eq!(cells.len(), names.len());
        let at = |name: &str| cells[names.iter().position(|n| *n == name).unwrap()];
        assert_eq!(at("kind"), "knight");
        assert_eq!(at("restricted_turns"), "80");
        assert_eq!(
            at("restricted_rate").parse::<f64>().unwrap(),
            answer.rows[0].restricted.rate.unwrap()
        );
        assert!(
            lines[2].ends_with("too few games to tell: 3 held turns in 1 fold (asked: 20 in 5)")
        );
    }

    #[test]
    fn every_figure_of_the_json_at_full_precision() {
        let answer = sample::answer();
        let text = hobble_report::json(&report(&answer)).unwrap();
        let row = &answer.rows[0];
        for figure in [
            row.raw.difference.value,
            row.standardised.ratio.jackknife.map(|it| it.high),
            row.restricted.jackknife.and_then(|it| it.se),
        ] {
            // Rust prints the shortest decimal that reads back to the same bits.
            let figure = figure.unwrap().to_string();
            assert!(figure.len() > 10 && text.contains(&figure), "{figure}");
        }
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(value["rows"][0]["group"]["kind"], "knight");
        assert_eq!(value["parameters"]["outcome"], "lost");
        let ratio = &value["rows"][1]["standardised"]["ratio"];
        assert_eq!(ratio["jackknife"], serde_json::Value::Null);
    }

    #[test]
    fn readers_see_figures_notes_and_the_game() {
        let answer = sample::answer();
        let text = hobble_report::text(&report(&answer));
        for what in [
            "Knight  22.5% (",
            "Bishop: Too few games: 3 of the 20 held turns needed.",
            "White bishop on c4 after 2...b5",
            "not proof of cause",
        ] {
            assert!(text.contains(what), "{what}: {text}");
        }
        let markdown = hobble_report::markdown(&report(&answer));
        assert!(markdown.contains("### Methods") && markdown.contains("## Cautions"));
    }
}
