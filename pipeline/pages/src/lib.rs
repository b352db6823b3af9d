//! Turns the answer to a question into one self-contained HTML page.
//!
//! A page needs no network, no script and no font of its own: style sheet, plots and boards
//! are in it. It is made for a phone and a desk, for light and dark screens and for paper,
//! and says in words what its pictures show.
//!
//! [`page`] is all a caller needs: it writes the report of any answer ([`hobble_report`]) as
//! HTML, with its plots and boards drawn. [`handout`] is the sheet of a claim for paper.
//! [`board`] and [`plot`] draw single pictures; [`palette`] holds the house colours.
//!
//! ```
//! use hobble_pages::board::{Marks, Picture};
//! use shakmaty::{Board, Color, Square};
//!
//! let picture = Picture {
//!     board: &Board::new(),
//!     marks: &Marks {
//!         held: vec![Square::B1],
//!         ..Marks::default()
//!     },
//!     bottom: Color::White,
//!     id: "start",
//!     title: "The start position",
//!     by_symbols: false,
//! };
//! assert!(picture.draw().starts_with("<svg"));
//! assert!(picture.words().contains("b1"));
//! ```

use anyhow::Result;
use hobble_claim::{ClaimAnswer, Examples, Terms, examples_report};
use hobble_dataset::Dataset;
use hobble_report::Report;

pub mod board;
pub mod board_file;
mod board_key;
mod board_view;
mod exercises_page;
mod game_boards;
mod game_page;
mod handout;
mod html;
mod lesson_page;
mod needs;
pub mod palette;
mod pieces;
pub mod plot;
mod quiz_page;
mod script;
mod selection;
mod stretch_view;
mod style;
pub mod svg;
mod task_view;
mod templates;
mod terms_view;

pub use board_view::drawn_board;
pub use exercises_page::exercises_page;
pub use game_boards::{GameBoard, boards_at, boards_of_moments};
pub use game_page::game_page;
pub use handout::handout;
pub use lesson_page::{lesson_page, page_name};
pub use quiz_page::{quiz_page, quiz_sheet};
pub use selection::{Chosen, Place, Selection};
pub use style::style;
pub use templates::environment;

/// Examples of a claim, each with its boards, as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where a position or square of an example cannot be read, naming it.
pub fn examples_page(examples: &Examples) -> Result<String> {
    html::html(&examples_report(examples), None)
}

/// A report as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where a position or square of an example cannot be read, naming it.
pub fn page(report: &Report<'_>) -> Result<String> {
    html::html(report, None)
}

/// An answer's report as one HTML page. That of a claim about what becomes of its piece lets a reader change
/// the claim's terms, where the tables that it was answered from are at hand.
///
/// # Errors
///
/// As of [`page`], and where the tables cannot be read.
pub fn answer_page(
    report: &Report<'_>,
    claim: Option<&ClaimAnswer>,
    tables: Option<&Dataset>,
) -> Result<String> {
    let terms = match (claim, tables) {
        (Some(answer), Some(tables)) => Terms::of(tables, &answer.claim)?,
        _ => None,
    };
    html::html(report, terms.as_ref())
}
