//! Answers questions from the tables of a scan.
//!
//! A question is a small TOML file ([`question`]); a dataset a folder of Parquet tables
//! ([`Dataset`]); [`answer()`] brings them together into an [`Answer`], which [`render`] turns
//! into text, CSV, JSON or Markdown. The statistics stand in a crate of
//! their own, `hobble_statistics`.

pub mod answer;
mod ask;
pub mod asked;
pub mod bands;
pub mod claim;
mod cube;
pub mod error;
mod examples;
mod few;
pub mod fields;
pub mod filter;
pub mod filter_keys;
pub mod habits;
mod locate;
mod methods;
pub mod question;
pub mod render;
mod replay;
pub mod row;
mod shipped;
pub mod sum;
pub mod terms;
pub mod whole;
mod words;

pub use answer::Answer;
pub use ask::answer;
pub use asked::{Answered, Asked};
pub use error::AskError;
pub use hobble_dataset::Dataset;
pub use question::{Overrides, Question};
