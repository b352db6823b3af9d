//! A report as Markdown, with terms, methods and data written out.

use crate::fact::Fact;
use crate::games::Game;
use crate::plain::plain;
use crate::report::{Block, Item, Method, Report, Table, Tone};
use crate::written::Written;

/// The report as Markdown, ending in a line break.
pub fn markdown(report: &Report<'_>) -> String {
    let mut out = format!("# {}\n", escape(&report.title));
    for section in &report.sections {
        let mut blocks = section
            .blocks
            .iter()
            .filter(|placed| !matches!(placed.block, Block::Plot(_)))
            .peekable();
        if blocks.peek().is_none() {
            continue;
        }
        out.push_str(&format!("\n## {}\n", escape(&section.title)));
        for placed in blocks {
            out.push('\n');
            Marked(&mut out).block(&placed.block);
        }
    }
    out.push_str(&format!(
        "\nhobble {}, definitions {}\n",
        escape(&report.made.hobble),
        report.made.definitions
    ));
    out
}

/// Blocks as Markdown.
struct Marked<'a>(&'a mut String);

impl Written for Marked<'_> {
    fn heading(&mut self, title: &str) {
        self.0.push_str(&format!("### {}\n", escape(title)));
    }

    fn paragraph(&mut self, tone: Tone, text: &str) {
        let text = escape(text);
        self.0.push_str(&match tone {
            Tone::Lead => format!("**{text}**\n"),
            _ => format!("{text}\n"),
        });
    }

    fn item(&mut self, item: &Item) {
        self.0.push_str("- ");
        if let Some(name) = &item.name {
            self.0.push_str(&format!("**{}**: ", escape(name)));
        }
        self.0.push_str(&escape(&item.text));
        for remark in &item.remarks {
            self.0.push_str(&format!(" {}", escape(remark)));
        }
        self.0.push('\n');
    }

    fn fact(&mut self, Fact { name, text }: &Fact) {
        let line = format!("- **{}**: {}\n", escape(name), escape(text));
        self.0.push_str(&line);
    }

    fn method(&mut self, method: &Method) {
        self.0.push_str(&format!(
            "- **{}**: {} {}.\n",
            escape(&method.name),
            escape(&method.text),
            escape(&method.source)
        ));
    }

    fn table(&mut self, table: &Table) {
        write_table(self.0, table);
    }

    fn game(&mut self, number: usize, game: &Game) {
        self.0.push_str(&format!(
            "{number}. **{}**  \n   {}  \n   {}\n",
            escape(&game.heading),
            escape(&game.label),
            escape(&game.caption)
        ));
        for line in game.board_lines() {
            self.0.push_str(&format!("   - {}\n", escape(&line)));
        }
    }
}

fn write_table(out: &mut String, table: &Table) {
    if !table.title.is_empty() {
        out.push_str(&format!("### {}\n\n", escape(&table.title)));
    }
    if !table.caption.is_empty() {
        out.push_str(&format!("{}\n\n", escape(&table.caption)));
    }
    let line = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
    out.push_str(&line(
        table
            .columns
            .iter()
            .map(|column| escape(&column.full_name()))
            .collect(),
    ));
    out.push('|');
    for index in 0..table.columns.len() {
        out.push_str(if table.is_words(index) {
            " --- |"
        } else {
            " ---: |"
        });
    }
    out.push('\n');
    for row in &table.rows {
        out.push_str(&line(
            row.cells.iter().map(|cell| escape(&cell.line())).collect(),
        ));
    }
}

/// Text with the characters that Markdown would read as marks made plain.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in plain(text).trim().chars() {
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
    use crate::sample;

    #[test]
    fn tables_have_as_many_cells_in_each_line() {
        let out = markdown(&sample::report());
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
        assert_eq!(tables, 1);
        assert!(
            out.contains("| knight | 80 | 22.5% (15.0 to 31.0%) |"),
            "{out}"
        );
        assert!(out.contains("## Method") && out.contains("Score interval"));
    }

    #[test]
    fn names_make_no_marks() {
        let mut report = sample::report();
        report.title = "<script>|**x**\nB".into();
        let out = markdown(&report);
        assert!(out.contains("# \\<script\\>\\|\\*\\*x\\*\\* B"), "{out}");
    }
}
