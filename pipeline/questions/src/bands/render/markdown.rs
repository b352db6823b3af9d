//! For a document.

use super::tables::{self, MARK};
use crate::bands::BandsAnswer;
use crate::render::markdown::{escape, rows_of};

/// The answer as Markdown, ending in a line break.
pub fn markdown(answer: &BandsAnswer) -> String {
    let mut out = format!("# {}\n", escape(&answer.question.title));
    for paragraph in answer.question.text.split("\n\n") {
        out.push_str(&format!("\n{}\n", escape(paragraph)));
    }
    for shown in tables::tables(answer) {
        out.push_str(&format!("\n## {}\n\n", tables::split_title(shown.split)));
        let mut head = vec![String::new()];
        head.extend(
            shown
                .measures
                .iter()
                .map(|measure| measure.title().to_owned()),
        );
        let rows = shown
            .rows
            .iter()
            .map(|(level, cells)| {
                let cells = cells.iter().map(|cell| {
                    let interval = tables::interval(*cell);
                    let value = tables::value(*cell);
                    if interval.is_empty() {
                        value
                    } else {
                        format!("{value} ({interval})")
                    }
                });
                std::iter::once((*level).to_owned()).chain(cells).collect()
            })
            .collect();
        rows_of(&mut out, &head, rows);
    }
    out.push_str(&format!("\n{}\n", escape(MARK)));
    let mut list = |title: &str, items: &[String]| {
        out.push_str(&format!("\n## {title}\n\n"));
        for item in items {
            out.push_str(&format!("- {}\n", escape(item)));
        }
    };
    if !answer.trends.is_empty() {
        list("Trends over the bands", &tables::trends(answer));
    }
    list("Notes", &answer.notes);
    let methods: Vec<String> = answer
        .methods
        .iter()
        .map(|method| format!("{}: {} {}.", method.name, method.text, method.source))
        .collect();
    list("Methods", &methods);
    out.push_str("\n## Methods text\n");
    for paragraph in &answer.methods_text {
        out.push_str(&format!("\n{}\n", escape(paragraph)));
    }
    out.push_str(&format!("\n## Citation\n\n{}\n", escape(&answer.citation)));
    out
}
