//! The text of one game: its tags, its moves, and what stops it from being read.
//!
//! - [`skip`]: why a game is left out;
//! - [`text`]: bytes of an archive as text;
//! - [`tags`]: the tags that are kept, with ratings and time control read;
//! - [`start`]: start positions and variants;
//! - [`tag_section`]: where the tags end;
//! - [`words`]: the words of a movetext that should be moves;
//! - [`check`]: what pgn-reader passed over;
//! - [`comment`]: clocks and evaluations in comments;
//! - [`reader`]: all of it, one game at a time;
//! - [`id`]: game ids.

pub mod check;
pub mod comment;
pub mod id;
pub mod reader;
pub mod skip;
pub mod start;
pub mod tag_section;
pub mod tags;
pub mod text;
mod visitor;
pub mod words;
