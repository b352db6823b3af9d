//! Positions in which a piece was restricted, found by conditions: kind, what did it, how long it
//! lasted, how it ended, phase, player, date and the rest of the filter keys.
//!
//! A [`PositionSearch`] is the file that asks; [`mod@found`] keeps the first positions of each part in the order
//! asked for; the answer plays their games and follows each piece to the end of its spell.
//!
//! ```
//! use hobble_positions::PositionSearch;
//!
//! let file = "format = 1\nabout = \"positions\"\ntitle = \"T\"\ntext = \"x\"\nkinds = [\"knight\"]\n";
//! let search = PositionSearch::parse("knights", "knights.toml", file).unwrap();
//! assert_eq!(search.count, 50);
//! ```

mod answer;
mod file;
pub mod found;
mod pgn;
mod replayed;
mod report;
mod work;

pub use answer::{Position, PositionsAnswer};
pub use file::PositionSearch as Question;
pub use file::{Order, PositionSearch};
pub use pgn::pgn;

/// Version of the shape of [`PositionsAnswer`].
pub const FORMAT: u32 = 1;
