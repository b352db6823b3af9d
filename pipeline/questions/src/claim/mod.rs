//! A training claim, put to the games: pieces held so and so are lost more often.
//!
//! From the file to the answer: [`file`] reads the claim; [`held`] the spells it speaks of;
//! [`free`] the free turns they are compared with; [`compare`], [`curve`], [`ends`] and
//! [`score`] make the figures; [`verdict`] the words; [`examples`] the games and the quiz;
//! [`answer`] brings all together; [`render`] and [`pgn`] write it.

pub mod answer;
mod compare;
mod curve;
mod ends;
mod examples;
pub mod file;
mod free;
mod held;
mod pgn;
pub mod render;
mod score;
mod stratum;
mod verdict;

pub use answer::{ClaimAnswer, answer};
pub use file::Claim;
pub use pgn::pgn;
