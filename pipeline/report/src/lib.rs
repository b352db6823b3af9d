//! A report: title, sections, tables, games, and the figures as one tidy table.
//!
//! What a question found is put into a [`Report`] once. One renderer each writes it as
//! [`text()`], [`csv()`], [`json()`] and [`markdown()`]; the crate of pages writes it as HTML.
//! Cells are typed ([`Cell`]): alignment, digits and words follow from what a cell is, and
//! nothing is decided by words that are already written.
//!
//! ```
//! use hobble_report::{Block, Cell, Made, Report, Section, Table, Tidy, Tone, Unit};
//!
//! let mut table = Table::new(["piece", "turns", "lost"]);
//! table.row(vec![
//!     Cell::text("knight"),
//!     Cell::Count(1234),
//!     Cell::figure(Unit::Share, Some(0.225), None),
//! ]);
//! let mut found = Section::new("found", "What was found");
//! found
//!     .paragraph(Tone::Lead, "Held knights were lost in 22.5% of their turns.")
//!     .block(Block::Table(table));
//! let report = Report {
//!     subject: "Restraint in played games",
//!     title: "Held knights".to_owned(),
//!     sections: vec![found],
//!     made: Made::of("0.1.0", "0.1.0", 1),
//!     tidy: Tidy::default(),
//!     answer: &0.225,
//! };
//! assert!(hobble_report::text(&report).contains(" knight  1,234  22.5%"));
//! assert!(hobble_report::markdown(&report).contains("| knight | 1,234 | 22.5% |"));
//! assert_eq!(hobble_report::json(&report)?, "0.225\n");
//! # Ok::<(), serde_json::Error>(())
//! ```

pub mod cell;
pub mod columns;
mod csv;
mod fact;
pub mod few;
mod games;
mod json;
mod markdown;
pub mod number;
pub mod pgn_text;
mod plain;
pub mod plot;
mod replace;
pub mod report;
#[cfg(test)]
mod sample;
pub mod sections;
pub mod stretch;
mod text;
pub mod tidy;
mod written;

pub use cell::{Cell, Figure, Unit, Why};
pub use columns::ColumnText;
pub use csv::csv;
pub use fact::Fact;
pub use games::{Arrow, Board, Game, Games, Side, Trait, TraitValue};
pub use hobble_statistics::Bounds;
pub use json::json;
pub use markdown::markdown;
pub use plain::{paragraphs, plain, plain_short};
pub use plot::Plot;
pub use replace::replace_file;
pub use report::{
    Answer, Block, Column, Item, Made, Method, Placed, Report, Reported, Row, Section, Table, Tone,
};
pub use stretch::{Station, Stretch};
pub use text::text;
pub use tidy::{Record, Tidy, Value};
