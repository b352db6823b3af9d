//! One game followed move by move: what each move took and gave, a line for each piece, the
//! moves that mattered, exercises.
//!
//! All figures come from the kernel that the scan uses (`hobble-tracks`), so that they equal
//! the tables. From the bottom up:
//!
//! - [`find`]: a game of an archive by its number or id;
//! - [`heading`]: who played, when, where;
//! - [`follow`]: the game's positions, moves, spells and captures;
//! - [`tries`]: every legal move of every position tried;
//! - [`lines`](mod@lines): what each piece went through, stretch by stretch;
//! - [`chances`]: turns at which a quiet move would have restrained a piece;
//! - [`moments`]: the moves that mattered, chosen by rules;
//! - [`beside`]: what became of such pieces in an archive;
//! - [`themes`]: what a game shows, for the order of a lesson;
//! - [`exercises`]: positions to solve;
//! - [`lesson`]: many games, in order;
//! - [`words`]: what happened, in sentences;
//! - [`text`], [`json`], [`pgn`]: a walkthrough written down; pages are made elsewhere.
//!
//! ```
//! use hobble_walkthrough::{Walkthrough, follow::Follower};
//!
//! let text = b"[White \"Cobble, Nan\"]\n\n1. e4 e5 2. Nf3 Nc6 1-0\n";
//! let game = Follower::new().follow(text)?;
//! let walkthrough = Walkthrough::new(game, 2);
//! // At the start each knight has two safe squares and each pawn two: 2 * 2 + 8 * 2.
//! assert_eq!(walkthrough.game.positions[0].scope, [20, 20]);
//! # Ok::<(), hobble_game::skip::Skip>(())
//! ```

pub mod beside;
pub mod chances;
mod error;
pub mod exercises;
pub mod find;
pub mod follow;
pub mod heading;
pub mod json;
pub mod lesson;
pub mod lines;
pub mod moments;
pub mod pgn;
mod sentences;
pub mod text;
pub mod themes;
pub mod tries;
mod walkthrough;
pub mod words;

pub use error::Error;
pub use walkthrough::Walkthrough;
