//! Turns the answer to a question into one self-contained HTML page.
//!
//! A page needs no network, no script and no font of its own: style sheet, plots and boards
//! are in it. It is made for a phone and a desk, for light and dark screens and for paper,
//! and says in words what its pictures show.
//!
//! [`render`], [`habits_page`] and [`bands_page`] are all a caller needs, by what the answer is
//! about. [`board`] and [`plot`] draw single pictures; [`palette`]
//! holds the house colours.
//!
//! ```
//! use hobble_pages::board::{Marks, Picture};
//! use shakmaty::{Board, Color, Square};
//!
//! let picture = Picture {
//!     board: &Board::new(),
//!     marks: &Marks {
//!         held: Some(Square::B1),
//!         ..Marks::default()
//!     },
//!     bottom: Color::White,
//!     id: "start",
//!     title: "The start position",
//! };
//! assert!(picture.draw().starts_with("<svg"));
//! assert!(picture.words().contains("b1"));
//! ```

mod bands_page;
pub mod board;
mod claim_page;
mod game_words;
mod habits_page;
mod handout;
pub mod page;
pub mod palette;
mod pieces;
pub mod plot;
pub mod svg;
mod templates;
mod text;

pub use bands_page::bands_page;
pub use claim_page::claim_page;
pub use habits_page::habits_page;
pub use handout::handout;
pub use page::render;
