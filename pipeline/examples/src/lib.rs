//! Positions from games that an answer shows: where a game stands in the tables, its moves
//! replayed to a position, and what names it for a reader.
//!
//! ```
//! use hobble_examples::replay;
//!
//! let start = replay::start(Some("4k3/8/8/8/8/8/4P3/4K3 w - - 0 1"));
//! assert!(start.is_some());
//! assert!(replay::start(Some("no position")).is_none());
//! ```

pub mod course;
pub mod facts;
pub mod locate;
pub mod loose;
pub mod pgn;
pub mod played;
mod reference;
pub mod replay;
pub mod restraint;
pub mod rule;
#[cfg(test)]
mod sample;
pub mod search;
pub mod seats;
mod shown_games;
pub mod stretch;
pub mod task;
pub mod task_words;

pub use course::Course;
pub use played::Played;
pub use reference::{ExampleBoard, GameReference, MoveReference};
pub use restraint::Restraint;
pub use shown_games::{KeptGames, Key, ShownGames, missing};
