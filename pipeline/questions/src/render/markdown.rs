//! An answer as Markdown, with the methods written out.

use super::cells;
use crate::answer::Answer;

/// The answer as Markdown, ending in a line break.
pub fn markdown(answer: &Answer) -> String {
    let mut out = format!("# {}\n\n", escape(&answer.question.title));
    for paragraph in answer.question.text.split("\n\n") {
        out.push_str(&format!("{}\n\n", escape(paragraph)));
    }
    out.push_str(&format!(
        "{}\n\n{}\n",
        escape(&cells::asked(&answer.parameters)),
        escape(&cells::dataset(answer))
    ));

    let (head, rows) = cells::counts(answer);
    table(&mut out, "Held pieces", head, rows);
    let (head, rows) = cells::comparison(answer);
    table(&mut out, "Beside comparable free pieces", head, rows);
    out.push_str("\nThe difference is in percentage points.\n\n");
    for row in &answer.rows {
        out.push_str(&format!(
            "- **{}**: {}",
            escape(&row.label),
            escape(&row.verdict)
        ));
        for remark in &row.remarks {
            out.push_str(&format!(" {}", escape(remark)));
        }
        out.push('\n');
    }

    if !answer.examples.is_empty() {
        out.push_str("\n## Examples\n\n");
        for (number, example) in (1..).zip(&answer.examples) {
            out.push_str(&format!(
                "{number}. {}  \n   {}\n",
                escape(&example.game.label),
                escape(&example.caption)
            ));
            if let Some(board) = &example.board {
                out.push_str(&format!(
                    "   - before: `{}`\n   - after: `{}`\n   - squares taken: {}\n",
                    board.fen_before,
                    board.fen_after,
                    if board.taken.is_empty() {
                        "none".to_owned()
                    } else {
                        board.taken.join(" ")
                    }
                ));
            }
        }
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
    out.push_str("\n## Data\n\n");
    let head = ["file", "games read", "kept", "SHA-256"]
        .map(str::to_owned)
        .to_vec();
    let rows = answer.dataset.sources.iter().map(|source| {
        vec![
            source.file.clone(),
            crate::words::count(source.read),
            crate::words::count(source.kept),
            source.sha256.clone(),
        ]
    });
    rows_of(&mut out, &head, rows.collect());
    out.push_str(&format!(
        "\nhobble {}, definitions {}\n",
        answer.hobble, answer.definitions
    ));
    out
}

fn table(out: &mut String, title: &str, head: Vec<String>, rows: Vec<Vec<String>>) {
    out.push_str(&format!("\n## {title}\n\n"));
    rows_of(out, &head, rows);
}

/// A table without a title.
pub(crate) fn rows_of(out: &mut String, head: &[String], rows: Vec<Vec<String>>) {
    let line = |cells: &[String]| {
        let cells: Vec<String> = cells.iter().map(|cell| escape(cell)).collect();
        format!("| {} |\n", cells.join(" | "))
    };
    out.push_str(&line(head));
    let right = " ---: |".repeat(head.len().saturating_sub(1));
    out.push_str(&format!("| --- |{right}\n"));
    for row in rows {
        out.push_str(&line(&row));
    }
}

/// Text with the characters that Markdown would read as marks made plain.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in cells::plain(text).trim().chars() {
        if matches!(
            c,
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '#' | '~' | '&'
        ) {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::sample;

    #[test]
    fn tables_have_as_many_cells_in_each_line() {
        let out = markdown(&sample::answer());
        let lines: Vec<&str> = out.lines().collect();
        let mut tables = 0;
        for (index, line) in lines.iter().enumerate() {
            if line.starts_with("| ---") {
                tables += 1;
                let cells = line.matches('|').count();
                assert_eq!(lines[index - 1].matches('|').count(), cells);
                assert_eq!(lines[index + 1].matches('|').count(), cells);
            }
        }
        assert_eq!(tables, 3);
        assert!(out.contains("## Methods") && out.contains("## Notes"));
    }

    #[test]
    fn names_make_no_marks() {
        let mut answer = sample::answer();
        answer.examples[0].game.label = "<script>|**x**\nB".into();
        let out = markdown(&answer);
        assert!(out.contains("\\<script\\>\\|\\*\\*x\\*\\* B"), "{out}");
    }
}
