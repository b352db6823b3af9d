//! For a terminal: aligned tables, then sentences.

use super::tables::{self, MARK};
use crate::bands::BandsAnswer;
use crate::render::cells::plain;
use crate::render::text::{paragraph, table};

/// The answer as text, ending in a line break.
pub fn text(answer: &BandsAnswer) -> String {
    let title = plain(&answer.question.title);
    let mut out = format!("{title}\n{}\n\n", "=".repeat(title.chars().count()));
    if let Some(first) = answer.methods_text.first() {
        paragraph(&mut out, &plain(first), "", "");
    }
    for shown in tables::tables(answer) {
        let mut head = vec![String::new()];
        head.extend(
            shown
                .measures
                .iter()
                .map(|measure| measure.title().to_owned()),
        );
        let mut rows = Vec::new();
        for (level, cells) in &shown.rows {
            let name = std::iter::once(plain(level));
            rows.push(
                name.chain(cells.iter().map(|cell| tables::value(*cell)))
                    .collect(),
            );
            if cells.iter().flatten().any(|cell| cell.low.is_some()) {
                let none = std::iter::once(String::new());
                rows.push(
                    none.chain(cells.iter().map(|cell| tables::interval(*cell)))
                        .collect(),
                );
            }
        }
        table(&mut out, tables::split_title(shown.split), head, rows);
    }
    out.push('\n');
    paragraph(&mut out, MARK, "", "");
    for trend in tables::trends(answer) {
        paragraph(&mut out, &trend, "", "  ");
    }
    out.push_str("\nNotes\n");
    for note in &answer.notes {
        paragraph(&mut out, &plain(note), "  - ", "    ");
    }
    paragraph(
        &mut out,
        "CSV and Parquet have every cell with its interval, also for each kind of piece; Markdown and JSON the methods.",
        "  - ",
        "    ",
    );
    out.push_str(&format!(
        "\nhobble {}, definitions {}\n",
        answer.hobble, answer.definitions
    ));
    out
}
