//! An answer as text for a terminal: aligned tables, then sentences.

use comfy_table::presets::NOTHING;
use comfy_table::{CellAlignment, ColumnConstraint, Table};

use super::cells;
use crate::answer::Answer;

/// Width that sentences are wrapped to.
const WIDTH: usize = 92;

/// The answer as text, ending in a line break. No colour, no control characters.
pub fn text(answer: &Answer) -> String {
    let mut out = String::new();
    let title = cells::plain(&answer.question.title);
    out.push_str(&format!(
        "{title}\n{}\n\n",
        "=".repeat(title.chars().count())
    ));
    for sentence in [cells::asked(&answer.parameters), cells::dataset(answer)] {
        paragraph(&mut out, &sentence, "", "");
    }

    let (head, rows) = cells::counts(answer);
    table(&mut out, "Held pieces", head, rows);
    let (head, rows) = cells::comparison(answer);
    let about = "Beside comparable free pieces (difference in percentage points)";
    table(&mut out, about, head, rows);

    out.push('\n');
    for row in &answer.rows {
        paragraph(
            &mut out,
            &format!("{}: {}", row.label, row.verdict),
            "",
            "  ",
        );
        for remark in &row.remarks {
            paragraph(&mut out, remark, "  ", "  ");
        }
    }
    if !answer.examples.is_empty() {
        out.push_str("\nExamples\n");
        for (number, example) in (1..).zip(&answer.examples) {
            let first = format!("  {number}. ");
            paragraph(&mut out, &example.game.label, &first, "     ");
            paragraph(&mut out, &example.caption, "     ", "     ");
            if let Some(board) = &example.board {
                let taken = if board.taken.is_empty() {
                    "none".to_owned()
                } else {
                    board.taken.join(" ")
                };
                let line = format!("Squares taken ({}): {taken}.", board.taken.len());
                paragraph(&mut out, &line, "     ", "     ");
                out.push_str(&format!(
                    "     before: {}\n     after:  {}\n",
                    board.fen_before, board.fen_after
                ));
            }
        }
    }
    out.push_str("\nNotes\n");
    for note in &answer.notes {
        paragraph(&mut out, note, "  - ", "    ");
    }
    let methods: Vec<String> = answer
        .methods
        .iter()
        .map(|method| method.name.to_lowercase())
        .collect();
    let methods = format!(
        "Methods: {}. JSON and Markdown write them out with their sources.",
        methods.join(", ")
    );
    paragraph(&mut out, &methods, "  - ", "    ");
    out.push_str(&format!(
        "\nhobble {}, definitions {}\n",
        answer.hobble, answer.definitions
    ));
    out
}

/// A table with its title.
pub(crate) fn table(out: &mut String, title: &str, head: Vec<String>, rows: Vec<Vec<String>>) {
    out.push_str(&format!("\n{title}\n"));
    let mut table = Table::new();
    table.load_preset(NOTHING);
    let columns = head.len();
    table.set_header(head);
    for row in rows {
        table.add_row(row);
    }
    for index in 0..columns {
        if let Some(column) = table.column_mut(index) {
            column.set_constraint(ColumnConstraint::ContentWidth);
            if index > 0 {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
    }
    for line in table.lines() {
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

/// Wraps a paragraph at spaces; words longer than a line stay whole.
pub(crate) fn paragraph(out: &mut String, text: &str, first: &str, rest: &str) {
    let mut line = first.to_owned();
    let mut empty = true;
    for word in cells::plain(text).split_whitespace() {
        if !empty && line.chars().count() + 1 + word.chars().count() > WIDTH {
            out.push_str(line.trim_end());
            out.push('\n');
            line = rest.to_owned();
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    out.push_str(line.trim_end());
    out.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::sample;

    #[test]
    fn tables_are_aligned_and_say_where_too_few() {
        let out = text(&sample::answer());
        let lines: Vec<&str> = out.lines().collect();
        let head = lines
            .iter()
            .position(|line| line.trim_start().starts_with("piece"))
            .unwrap();
        assert!(lines[head].contains("held turns"));
        let end = lines[head].trim_end().chars().count();
        assert!(
            lines[head + 1..head + 3]
                .iter()
                .all(|line| line.chars().count() == end),
            "{out}"
        );
        assert!(lines[head + 1].contains("22.5%"), "{out}");
        assert!(lines[head + 2].contains("too few games to tell"), "{out}");
        assert!(out.contains("not proof of cause"));
        assert!(out.ends_with("definitions 1\n"));
    }

    #[test]
    fn names_cannot_speak_to_the_terminal() {
        let mut answer = sample::answer();
        answer.examples[0].game.label = "Eve\u{202e}\u{1b}[2J\u{7}\n\u{9b}31m \u{2013} Mal".into();
        let out = text(&answer);
        assert!(!out.chars().any(|c| c.is_control() && c != '\n'));
        assert!(!out.contains('\u{202e}'));
        assert!(out.contains("Eve [2J 31m \u{2013} Mal"), "{out}");
    }

    #[test]
    fn wraps_at_spaces() {
        let mut out = String::new();
        paragraph(&mut out, &"ab ".repeat(60), "- ", "  ");
        assert!(out.lines().all(|line| line.chars().count() <= WIDTH));
        assert_eq!(out.matches("ab").count(), 60);
        assert_eq!(out.lines().count(), 2);
    }
}
