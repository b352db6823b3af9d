//! Archives of games: opening files, and cutting their text into blocks of whole games.
//!
//! Text is passed on as bytes: `hobble-game` reads what a game says.
//!
//! - [`listing`]: which files an argument of the command line means;
//! - [`format`](mod@format): how a file is packed, by its first bytes;
//! - [`stream`]: a file as a stream of unpacked bytes, counted and hashed on the way;
//! - [`tag_line`]: lines of a tag section, also those that cannot be read;
//! - [`split`]: where one game ends and the next begins;
//! - [`block`]: blocks of whole games for the workers;
//! - [`bundle`]: small archives read as one;
//! - [`error`]: what can go wrong.
//!
//! ```
//! use std::io::Cursor;
//!
//! use hobble_archive::block::{Blocks, Sizes};
//! use hobble_archive::stream::Stream;
//!
//! let archive = "[Event \"One\"]\n\n1. e4 e5 1-0\n\n[Event \"Two\"]\n\n1. d4 *\n";
//! let stream = Stream::unpack(Box::new(Cursor::new(archive)))?;
//! let mut blocks = Blocks::new(stream, Sizes::default());
//! let mut lines = Vec::new();
//! while let Some(block) = blocks.next_block()? {
//!     for game in &block.games {
//!         assert!(block.text[game.span.start..].starts_with(b"[Event"));
//!         lines.push(game.line);
//!     }
//! }
//! assert_eq!(lines, [1, 5]);
//! # Ok::<(), std::io::Error>(())
//! ```

pub mod block;
pub mod bundle;
pub mod error;
pub mod format;
pub mod listing;
mod members;
pub mod split;
pub mod stream;
pub mod tag_line;

pub use error::ArchiveError;
