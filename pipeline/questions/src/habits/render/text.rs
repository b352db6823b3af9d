//! The answer as text for a terminal.

use super::cells;
use crate::habits::HabitsAnswer;
use crate::render::{paragraph, plain, table};

/// The answer as text, ending in a line break. No colour, no control characters.
pub fn text(answer: &HabitsAnswer) -> String {
    let title = plain(&answer.question.title);
    let mut out = format!("{title}\n{}\n\n", "=".repeat(title.chars().count()));
    for sentence in cells::who(answer) {
        paragraph(&mut out, &sentence, "", "");
    }
    out.push_str("\nWhat stands out\n");
    for verdict in answer
        .verdicts
        .iter()
        .chain([&answer.replies.verdict, &answer.trend.verdict])
    {
        paragraph(&mut out, verdict, "  - ", "    ");
    }
    for section in &answer.sections {
        let rows = section.measures.iter().map(cells::measure).collect();
        table(&mut out, &section.title, head(&cells::HEAD), rows);
    }
    for group in &answer.groups {
        let title = format!(
            "{} ({})",
            group.label,
            crate::words::counted(group.games, "game")
        );
        let rows = group.measures.iter().map(cells::measure).collect();
        table(&mut out, &title, head(&cells::HEAD), rows);
    }
    table(
        &mut out,
        "Over time",
        head(&cells::TREND),
        cells::trend(answer),
    );
    if !answer.games.is_empty() {
        out.push_str("\nGames to look at\n");
        for (number, game) in (1..).zip(&answer.games) {
            paragraph(
                &mut out,
                &cells::place(game),
                &format!("  {number}. "),
                "     ",
            );
            paragraph(&mut out, &game.caption, "     ", "     ");
            if let Some(board) = &game.board {
                out.push_str(&format!("     {}\n", board.fen));
            }
        }
    }
    out.push_str("\nNotes\n");
    for note in &answer.notes {
        paragraph(&mut out, note, "  - ", "    ");
    }
    out.push_str(&format!(
        "\nhobble {}, definitions {}\n",
        answer.hobble, answer.definitions
    ));
    out
}

fn head(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}
