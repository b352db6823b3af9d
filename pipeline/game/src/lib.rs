//! The text of one game: its tags, its moves, and what stops it from being read.
//!
//! - [`skip`]: why a game is left out;
//! - [`text`]: bytes of an archive as text;
//! - [`tags`]: the tags that are kept, with ratings and time control read;
//! - [`time_control`]: time classes;
//! - [`start`]: start positions and variants;
//! - [`movetext`]: a plain look at the tokens of a movetext, to check and to locate;
//! - [`comment`]: clocks and evaluations in comments;
//! - [`reader`]: all of it, one game at a time;
//! - [`id`]: game ids.

pub mod comment;
pub mod id;
pub mod movetext;
pub mod reader;
pub mod skip;
pub mod start;
pub mod tags;
pub mod text;
pub mod time_control;
