//! A question about a whole side: what does it score, and what material does it lose, by how many of
//! its pieces are held or restrained at once, and by its safe squares beside the opponent's?
//!
//! It reads `turns`, `moves` and `games`. The table `sides`, with a row a game and side, is another
//! thing and not read here.
//!
//! From the file to the answer: [`mod@file`] reads the question; `position` reads its positions from
//! `turns`, `plies` and `games` what `moves` and `games` say of them, `observation` brings them
//! together; `level` says what sides are compared by; `state` counts part by part into `cells`,
//! `numbers`, `changes` and `candidates`; `compare` sets levels beside comparable positions, `models`
//! is the second reading; `verdict` and `sentences` say what is found; `boards` shows typical
//! positions; `work` brings all together into an answer ([`mod@answer`]); [`mod@report`] writes it.
//!
//! ```
//! use hobble_sides::SideQuestion;
//!
//! let file = r#"
//! format = 1
//! about = "sides"
//! title = "Room to move"
//! text = "Does the side with more safe squares score more?"
//! from_ply = 30
//! "#;
//! let question = SideQuestion::parse("room", "room.toml", file).unwrap();
//! assert_eq!((question.from_ply, question.to_ply), (30, 80));
//! ```

mod account;
pub mod answer;
mod boards;
mod candidates;
mod cells;
mod changes;
mod compare;
mod estimate;
pub mod file;
mod games;
mod level;
mod methods;
mod models;
mod numbers;
mod observation;
mod plies;
mod plots;
mod position;
pub mod report;
mod sentences;
mod shown;
#[cfg(test)]
mod simulated;
mod state;
mod stratum;
mod tables;
mod verdict;
mod work;

pub use answer::SidesAnswer;
pub use file::SideQuestion;
pub use file::SideQuestion as Question;
pub use report::report;
pub use state::State;
pub use work::answer;

/// Version of the shape of [`SidesAnswer`].
pub const FORMAT: u32 = 1;
