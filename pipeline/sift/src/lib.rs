//! Claims found honestly: a declared grid of conditions is tried on one half of the players, and
//! what passes is asked once of the other half, which was locked until then.
//!
//! [`grid`] says what is tried; [`split`] parts the games so that neither a player nor a game stands
//! in both halves; [`pieces`] counts a half; [`league`] asks it. The tables are counted three times, [`step`]
//! by step: [`shared`] counts which moves both halves have, [`search`] the half in which claims are looked
//! for, and [`locked`] the other; [`next`] says which
//! comes after a sum of states. [`ledger`] counts how often that was opened; [`work`] goes from the
//! tables to the answer and the claims' files; [`answer`] is what was found, as plain data, and [`report`]
//! writes it.
//!
//! The comparison, twins and guard are those of a training claim, by the code of its crate.
//!
//! ```
//! use hobble_sift::grid::{Grid, SHIPPED};
//!
//! let grid = Grid::parse("grid.toml", SHIPPED)?;
//! // 36 combinations of kind, k and turns; of 14 conditions at most two at once.
//! assert_eq!(grid.tried().len(), 36 * 96);
//! # Ok::<(), hobble_sift::SiftError>(())
//! ```

pub mod answer;
mod error;
pub mod grid;
pub mod league;
pub mod ledger;
pub mod locked;
pub mod next;
pub mod pieces;
pub mod report;
pub mod search;
pub mod shared;
pub mod split;
pub mod step;
pub mod work;

pub use error::SiftError;
pub use grid::Grid;
pub use locked::Sifted;
pub use work::sift;
