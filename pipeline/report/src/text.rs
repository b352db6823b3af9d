//! A report as text for a terminal: aligned tables, then sentences. No colour, no control
//! characters.

use comfy_table::presets::NOTHING;
use comfy_table::{CellAlignment, ColumnConstraint};

use crate::cell::Cell;
use crate::fact::Fact;
use crate::games::Game;
use crate::plain::plain;
use crate::report::{Block, Item, Method, Report, Section, Table, Tone};
use crate::written::Written;

/// Width that sentences are wrapped to.
const WIDTH: usize = 92;

/// Width of a table up to which intervals stand beside their figures.
const TABLE: usize = 110;

/// The report as text, ending in a line break. Long prose is left out, and it says so.
pub fn text(report: &Report<'_>) -> String {
    let title = plain(&report.title);
    let mut out = format!("{title}\n{}\n", "=".repeat(title.chars().count()));
    for section in &report.sections {
        write_section(&mut out, section);
    }
    let left_out = |section: &Section| section.blocks.iter().any(|placed| placed.document_only);
    out.push('\n');
    if report.sections.iter().any(left_out) {
        out.push_str("Markdown and the page also explain terms, methods and data.\n");
    }
    out.push_str(&plain(&format!(
        "hobble {}, definitions {}",
        report.made.hobble, report.made.definitions
    )));
    out.push('\n');
    out
}

fn write_section(out: &mut String, section: &Section) {
    let mut blocks = section
        .blocks
        .iter()
        .filter(|placed| !placed.document_only && !matches!(placed.block, Block::Plot(_)))
        .peekable();
    if blocks.peek().is_none() {
        return;
    }
    out.push_str(&format!("\n{}\n", plain(&section.title)));
    for placed in blocks {
        Lines(out).block(&placed.block);
    }
}

/// Blocks as lines of text.
struct Lines<'a>(&'a mut String);

impl Written for Lines<'_> {
    fn heading(&mut self, title: &str) {
        self.0.push_str(&format!("\n{}\n", plain(title)));
    }

    fn paragraph(&mut self, _: Tone, text: &str) {
        paragraph(self.0, text, "", "");
    }

    fn item(&mut self, item: &Item) {
        write_item(self.0, item);
    }

    fn fact(&mut self, fact: &Fact) {
        write_fact(self.0, fact);
    }

    fn method(&mut self, method: &Method) {
        let text = format!("{}: {} {}.", method.name, method.text, method.source);
        paragraph(self.0, &text, "  - ", "    ");
    }

    fn table(&mut self, table: &Table) {
        write_table(self.0, table);
    }

    fn game(&mut self, number: usize, game: &Game) {
        write_game(self.0, number, game);
    }
}

fn write_item(out: &mut String, item: &Item) {
    let text = match &item.name {
        Some(name) => format!("{name}: {}", item.text),
        None => item.text.clone(),
    };
    paragraph(out, &text, "  - ", "    ");
    for remark in &item.remarks {
        paragraph(out, remark, "    ", "    ");
    }
}

fn write_fact(out: &mut String, fact: &Fact) {
    paragraph(
        out,
        &format!("{}: {}", fact.name, fact.text),
        "  - ",
        "    ",
    );
}

fn write_game(out: &mut String, number: usize, game: &Game) {
    let first = format!("  {number}. ");
    let rest = " ".repeat(first.len());
    paragraph(out, &game.heading, &first, &rest);
    paragraph(out, &game.label, &rest, &rest);
    paragraph(out, &game.caption, &rest, &rest);
    for line in game.board_lines() {
        out.push_str(&format!("{rest}{}\n", plain(&line)));
    }
}

/// A table with its title. Intervals stand beside their figures where the width allows,
/// else beneath.
fn write_table(out: &mut String, table: &Table) {
    if !table.title.is_empty() {
        out.push_str(&format!("\n{}\n", plain(&table.title)));
    }
    if !table.caption.is_empty() {
        paragraph(out, &table.caption, "", "");
    }
    let beside = lines(table, Cell::line);
    if beside.iter().all(|line| line.chars().count() <= TABLE) {
        write_lines(out, &beside);
    } else {
        let beneath = lines(table, |cell| {
            let mut all = vec![cell.words()];
            all.extend(cell.beneath());
            all.join("\n")
        });
        write_lines(out, &beneath);
    }
}

fn write_lines(out: &mut String, lines: &[String]) {
    for line in lines {
        out.push_str(line);
        out.push('\n');
    }
}

fn lines(table: &Table, words: impl Fn(&Cell) -> String) -> Vec<String> {
    let clean = |text: &str| {
        let lines: Vec<String> = text.split('\n').map(plain).collect();
        lines.join("\n")
    };
    let mut drawn = comfy_table::Table::new();
    drawn.load_preset(NOTHING);
    drawn.set_header(
        table
            .columns
            .iter()
            .map(|column| plain(&column.full_name())),
    );
    for row in &table.rows {
        drawn.add_row(row.cells.iter().map(|cell| match cell {
            Cell::Text(text) => plain(text),
            other => clean(&words(other)),
        }));
    }
    for index in 0..table.columns.len() {
        if let Some(column) = drawn.column_mut(index) {
            column.set_constraint(ColumnConstraint::ContentWidth);
            if !table.is_words(index) {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
    }
    drawn
        .lines()
        .map(|line| line.trim_end().to_owned())
        .collect()
}

/// Wraps a paragraph at spaces; words longer than a line stay whole.
fn paragraph(out: &mut String, text: &str, first: &str, rest: &str) {
    let mut line = first.to_owned();
    let mut empty = true;
    for word in plain(text).split_whitespace() {
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
    use crate::sample;

    #[test]
    fn tables_are_aligned() {
        let out = text(&sample::report());
        let lines: Vec<&str> = out.lines().collect();
        let head = lines
            .iter()
            .position(|line| line.starts_with(" piece"))
            .unwrap();
        let end = lines[head].chars().count();
        assert!(
            lines[head + 1..head + 4]
                .iter()
                .all(|line| line.chars().count() == end),
            "{out}"
        );
        assert!(lines[head + 1].contains("22.5% (15.0 to 31.0%)"), "{out}");
        assert!(lines[head + 2].contains("too few games"), "{out}");
        assert!(!out.contains("Score interval") && out.contains("also explain"));
        assert!(out.ends_with("definitions 1\n"));
    }

    #[test]
    fn intervals_go_beneath_where_a_line_is_too_long() {
        let mut report = sample::report();
        let mut long = sample::table();
        long.rows[0].cells[0] = Cell::text("x".repeat(100));
        report.sections[0].blocks.clear();
        report.sections[0].block(Block::Table(long));
        let out = text(&report);
        let at = |what: &str| out.lines().position(|line| line.contains(what)).unwrap();
        assert_eq!(at("22.5%") + 1, at("15.0 to 31.0%"));
    }

    #[test]
    fn names_cannot_speak_to_the_terminal() {
        let mut report = sample::report();
        report.title = "Eve\u{202e}\u{1b}[2J\u{7}\n\u{9b}31m \u{2013} Mal".into();
        sample::spoil(&mut report);
        let out = text(&report);
        assert!(!out.chars().any(|c| c.is_control() && c != '\n'));
        assert!(!out.contains('\u{202e}'));
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
