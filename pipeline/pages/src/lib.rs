//! Turns the answer to a question into one self-contained HTML page.
//!
//! A page needs no network, no script and no font of its own: style sheet, plots and boards
//! are in it. It is made for a phone and a desk, for light and dark screens and for paper,
//! and says in words what its pictures show.
//!
//! [`page`] is all a caller needs; [`handout`] is the sheet of a claim for paper. A page is the
//! answer's report ([`hobble_report`]) as HTML, with its figures drawn. [`board`] and [`plot`] draw single pictures; [`palette`]
//! holds the house colours.
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
//! };
//! assert!(picture.draw().starts_with("<svg"));
//! assert!(picture.words().contains("b1"));
//! ```

use anyhow::Result;
use hobble_claim::{Examples, examples_report};
use hobble_questions::Answered;

mod bands_page;
pub mod board;
pub mod board_file;
mod board_view;
mod claim_page;
mod comparison_page;
mod exercises_page;
mod game_boards;
mod game_page;
mod habits_page;
mod handout;
mod html;
mod lesson_page;
pub mod palette;
mod pieces;
pub mod plot;
mod style;
pub mod svg;
mod templates;

pub use bands_page::bands_page;
pub use claim_page::claim_page;
pub use comparison_page::comparison_page;
pub use exercises_page::exercises_page;
pub use game_boards::{GameBoard, boards_at, boards_of_moments};
pub use game_page::game_page;
pub use habits_page::habits_page;
pub use handout::handout;
pub use lesson_page::{lesson_page, page_name};
pub use style::style;

/// Examples of a claim, each with its boards, as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where a position or square of an example cannot be read, naming it.
pub fn examples_page(examples: &Examples) -> Result<String> {
    html::html(&examples_report(examples), &[])
}

/// The answer to a question as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where a position or square of an example cannot be read, naming it.
pub fn page(answered: &Answered) -> Result<String> {
    match answered {
        Answered::Comparison(answer) => comparison_page(answer),
        Answered::Player(answer) => habits_page(answer),
        Answered::Bands(answer) => bands_page(answer),
        Answered::Claim(answer) => claim_page(answer),
    }
}
