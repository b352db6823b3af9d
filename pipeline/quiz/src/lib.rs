//! A quiz from the table `decisions`: positions in which exactly one quiet move restrains a piece,
//! rated by difficulty.
//!
//! From the table to the sheet: [`wanted`] says which positions; `turns` reads the turns with one
//! restraining move, counts how often such a move was missed, and keeps those that may be shown;
//! [`difficulty`] rates them; `alike` knows which positions are too much alike; `choose` tries them
//! on the board and takes as many as are wanted; [`quiz()`] is what comes of it, and [`words`], `text`
//! and `pgn` write it.
//!
//! ```
//! use hobble_quiz::difficulty::Difficulty;
//!
//! // 40 legal moves, of which the one that restrains was missed nine times in ten.
//! assert_eq!(Difficulty::points(40, 9, 10), 36);
//! ```

mod alike;
mod choose;
pub mod difficulty;
mod pgn;
pub mod quiz;
mod text;
mod turns;
pub mod wanted;
pub mod words;

pub use choose::quiz;
pub use pgn::pgn;
pub use quiz::{Position, Quiz};
pub use text::text;
pub use wanted::Wanted;
