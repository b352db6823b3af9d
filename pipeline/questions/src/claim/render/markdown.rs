//! An answer to a claim as Markdown.

use super::table::tables;
use crate::claim::answer::ClaimAnswer;
use crate::render::plain;

/// The answer as Markdown.
pub fn markdown(answer: &ClaimAnswer) -> String {
    let clean = |text: &str| plain(text).replace('|', "\\|").replace('<', "&lt;");
    let mut out = format!("# {}\n\n", clean(&answer.claim.title));
    for paragraph in answer.claim.text.split("\n\n") {
        out.push_str(&format!("{}\n\n", clean(paragraph)));
    }
    out.push_str(&format!("**{}**\n", clean(&answer.verdict)));
    for table in tables(answer) {
        out.push_str(&format!("\n## {}\n\n", clean(&table.title)));
        out.push_str(&format!("| {} |\n|", table.head.join(" | ")));
        out.push_str(&" --- |".repeat(table.head.len()));
        out.push('\n');
        for row in &table.rows {
            let cells: Vec<String> = row.iter().map(|cell| clean(cell)).collect();
            out.push_str(&format!("| {} |\n", cells.join(" | ")));
        }
    }
    if !answer.examples.is_empty() {
        out.push_str("\n## Games\n");
        for example in &answer.examples {
            out.push_str(&format!(
                "\n- **{}**: {}. {}\n  Before: `{}`\n",
                clean(&example.role),
                clean(&example.game.label),
                clean(&example.caption),
                example.fen_before
            ));
        }
    }
    out.push_str("\n## Notes\n\n");
    for note in &answer.notes {
        out.push_str(&format!("- {}\n", clean(note)));
    }
    out.push_str(&format!(
        "\nhobble {}, definitions {}\n",
        answer.hobble, answer.definitions
    ));
    out
}
