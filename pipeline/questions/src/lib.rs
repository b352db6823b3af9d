//! Answers questions from the tables of a scan.
//!
//! A question is a small TOML file ([`question`]); a dataset a folder of Parquet tables
//! ([`Dataset`]); [`answer()`] brings them together into an [`Answer`], and a report (`Answered::report`)
//! writes it as text, CSV, JSON or Markdown. The statistics stand in a crate of
//! their own, `hobble_statistics`.
//!
//! Fields of question files are declared once ([`fields`]); those that several sorts of
//! question share are in [`filter_keys`]. A mistake in a file is reported with its line:
//!
//! ```
//! use hobble_questions::claim::Claim;
//!
//! let file = r#"
//! format = 1
//! about = "claim"
//! title = "A knight on the rim"
//! text = "Is it lost more often?"
//! kinds = ["knight"]
//! k = 1
//! "#;
//! let claim = Claim::parse("rim", "rim.toml", file).unwrap();
//! assert_eq!(claim.in_words(), "knights held to one safe square at most");
//!
//! let mistake = Claim::parse("rim", "rim.toml", &file.replace("k = 1", "k = 7")).unwrap_err();
//! assert_eq!(
//!     mistake.to_string(),
//!     "rim.toml, line 7, field \"k\": 7 is not a whole number from 0 to 4"
//! );
//! ```

pub mod answer;
mod ask;
pub mod asked;
pub mod bands;
pub mod claim;
pub mod comparison;
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
mod replay;
pub mod row;
#[cfg(test)]
mod sample;
mod sections;
mod shipped;
pub mod sum;
pub mod terms;
pub use hobble_report::replace_file;
pub use sections::bounds;
mod words;

pub use answer::Answer;
pub use ask::answer;
pub use asked::{Answered, Asked};
pub use error::AskError;
pub use hobble_dataset::Dataset;
pub use question::{Overrides, Question};
