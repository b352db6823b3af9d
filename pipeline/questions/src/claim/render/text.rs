//! An answer to a claim for a terminal.

use super::table::tables;
use crate::claim::answer::ClaimAnswer;
use crate::render::{paragraph, plain, table};

/// The answer as text, without colour or control characters.
pub fn text(answer: &ClaimAnswer) -> String {
    let mut out = String::new();
    let title = plain(&answer.claim.title);
    out.push_str(&format!(
        "{title}\n{}\n\n",
        "=".repeat(title.chars().count())
    ));
    paragraph(&mut out, &answer.verdict, "", "");
    for shown in tables(answer) {
        let head = shown.head.iter().map(|&word| word.to_owned()).collect();
        table(&mut out, &shown.title, head, shown.rows);
    }
    if !answer.examples.is_empty() {
        out.push_str("\nGames\n");
        for example in &answer.examples {
            paragraph(
                &mut out,
                &format!("{}: {}", example.role, example.game.label),
                "  ",
                "    ",
            );
            paragraph(&mut out, &example.caption, "    ", "    ");
            out.push_str(&format!("    before: {}\n", example.fen_before));
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
