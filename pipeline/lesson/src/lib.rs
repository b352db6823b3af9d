//! Lessons: a page a game, an index of them by how much restraint they show, a sheet of exercises and
//! the games with comments. Each restrained piece may be set beside what became of such pieces in an
//! archive ([`Archive`]).
//!
//! ```
//! use hobble_lesson::lesson;
//! use hobble_walkthrough::find::{At, Text};
//!
//! # fn main() -> anyhow::Result<()> {
//! let game = Text {
//!     at: At { file: "evening.pgn".to_owned(), number: 1, line: 1 },
//!     text: Ok(b"[White \"Cobble, Nan\"]\n\n1. e4 e5 2. Nf3 *\n".to_vec()),
//! };
//! let folder = tempfile::tempdir()?;
//! let left_out = lesson(&[game], ": evening.pgn", folder.path(), 2, None)?;
//! assert!(left_out.is_empty());
//! assert!(folder.path().join("index.html").exists());
//! # Ok(())
//! # }
//! ```

mod beside;
mod lesson;

pub use beside::Archive;
pub use lesson::{EXERCISES, GAMES, INDEX, MOST_GAMES, lesson};
