//! The text of one game: its tags, its moves, and what stops it from being read.
//!
//! pgn-reader reads; what it passes over in silence is found by a check beside it.
//!
//! - [`reader`]: games, one at a time;
//! - [`game_text`]: what a game's text says;
//! - [`tags`]: the tags that are kept, with ratings and time control;
//! - [`start`]: start positions and variants;
//! - [`comment`]: clocks and evaluations in comments;
//! - [`san`]: the legal move that a move in the text means;
//! - [`ending`]: how the last position stands;
//! - [`id`]: game ids;
//! - [`skip`]: why a game is skipped;
//! - [`check`]: what pgn-reader passed over;
//! - [`words`]: the words of a movetext that should be moves;
//! - `notation`: other ways to write moves and results;
//! - [`tag_section`]: where the tags end, and lines in them that cannot be read;
//! - [`text`]: bytes of an archive as text.
//!
//! ```
//! use hobble_game::reader::GameReader;
//! use hobble_game::tags::Tag;
//! use hobble_terms::{GameResult, Reason};
//!
//! let mut reader = GameReader::new();
//! let text = b"[White \"Cobble, Nan\"]\n\n1. e4 e5 {[%clk 0:03:02]} 2. Nf3 1-0\n";
//! let game = reader.read(text)?;
//! assert_eq!(game.tags.raw(Tag::White), b"Cobble, Nan");
//! assert_eq!(game.moves.len(), 3);
//! assert_eq!(game.clocks, [None, Some(182.0), None]);
//! assert_eq!(game.result(), GameResult::White);
//!
//! let skip = reader.read(b"[White \"Cobble, Nan\"]\n\n1. e4 e9 1-0\n").unwrap_err();
//! assert_eq!((skip.reason, skip.at), (Reason::UnreadableToken, 29));
//! assert_eq!(skip.to_string(), "unreadable token `e9`");
//! # Ok::<(), hobble_game::skip::Skip>(())
//! ```

pub mod check;
pub mod comment;
pub mod ending;
pub mod game_text;
pub mod id;
mod notation;
pub mod reader;
pub mod san;
pub mod skip;
pub mod start;
pub mod tag_section;
pub mod tags;
pub mod text;
mod visitor;
pub mod words;
