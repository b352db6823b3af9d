//! The answer as Markdown, with the methods written out.

use super::cells;
use crate::habits::HabitsAnswer;
use crate::render::{escape, rows_of};

/// The answer as Markdown, ending in a line break.
pub fn markdown(answer: &HabitsAnswer) -> String {
    let mut out = format!("# {}\n\n", escape(&answer.question.title));
    for paragraph in answer.question.text.split("\n\n") {
        out.push_str(&format!("{}\n\n", escape(paragraph)));
    }
    for sentence in cells::who(answer) {
        out.push_str(&format!("{}\n\n", escape(&sentence)));
    }
    out.push_str("## What stands out\n\n");
    for verdict in answer
        .verdicts
        .iter()
        .chain([&answer.replies.verdict, &answer.trend.verdict])
    {
        out.push_str(&format!("- {}\n", escape(verdict)));
    }
    let head = |words: &[&str]| {
        words
            .iter()
            .map(|word| (*word).to_owned())
            .collect::<Vec<_>>()
    };
    for section in &answer.sections {
        out.push_str(&format!("\n## {}\n\n", escape(&section.title)));
        rows_of(
            &mut out,
            &head(&cells::HEAD),
            section.measures.iter().map(cells::measure).collect(),
        );
    }
    for group in &answer.groups {
        let games = crate::words::counted(group.games, "game");
        out.push_str(&format!("\n## {}: {games}\n\n", escape(&group.label)));
        rows_of(
            &mut out,
            &head(&cells::HEAD),
            group.measures.iter().map(cells::measure).collect(),
        );
    }
    out.push_str("\n## Over time\n\n");
    rows_of(&mut out, &head(&cells::TREND), cells::trend(answer));
    if !answer.games.is_empty() {
        out.push_str("\n## Games to look at\n\n");
        for (number, game) in (1..).zip(&answer.games) {
            out.push_str(&format!(
                "{number}. {}  \n   {}\n",
                escape(&cells::place(game)),
                escape(&game.caption)
            ));
            if let Some(board) = &game.board {
                out.push_str(&format!("   - `{}`\n", board.fen));
            }
        }
        out.push_str(&format!("\n{}\n", escape(&answer.games_rule)));
    }
    out.push_str("\n## Notes\n\n");
    for note in &answer.notes {
        out.push_str(&format!("- {}\n", escape(note)));
    }
    out.push_str("\n## Methods\n\n");
    for method in &answer.methods {
        out.push_str(&format!(
            "- **{}**: {} {}.\n",
            escape(&method.name),
            escape(&method.text),
            escape(&method.source)
        ));
    }
    out.push_str(&format!(
        "\nhobble {}, definitions {}\n",
        answer.hobble, answer.definitions
    ));
    out
}
