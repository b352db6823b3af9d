//! Answers questions from the tables of a scan.
//!
//! A question is a small TOML file ([`question`]); a dataset a folder of Parquet tables
//! ([`dataset`]); [`answer()`] brings them together into an [`Answer`], which [`render`] turns
//! into text, CSV, JSON or Markdown. The [`statistics`] stand in modules of their own, each
//! with its published source.

pub mod answer;
mod ask;
pub mod asked;
pub mod bands;
pub mod claim;
mod columns;
mod cube;
pub mod dataset;
pub mod error;
mod examples;
pub(crate) mod fields;
mod filter;
pub mod habits;
mod methods;
mod part;
mod pick;
pub mod question;
pub mod render;
mod replay;
pub mod row;
mod shipped;
pub mod statistics;
pub mod terms;
pub mod whole;
mod words;

pub use answer::Answer;
pub use ask::answer;
pub use asked::{Answered, Asked};
pub use dataset::Dataset;
pub use error::AskError;
pub use question::{Overrides, Question};
