//! Restrained or held pieces against comparable free ones.
//!
//! [`Question`] is the file that asks; [`answer()`] counts the table `turns` part by part and
//! gives an [`Answer`]; [`report()`] writes it down.
//!
//! ```
//! use hobble_comparison::Question;
//!
//! let question = Question::load("restrained-piece-lost").unwrap();
//! assert_eq!((question.k, question.within), (1, 10));
//! ```

pub mod answer;
mod ask;
mod examples;
mod games;
mod keys;
mod methods;
pub mod observations;
mod places;
mod plots;
pub mod question;
mod ratio_of_ratios;
mod report;
pub mod row;
mod runs;
#[cfg(test)]
mod sample;
mod tables;
mod tidy;
pub mod words;

pub use answer::Answer;
pub use ask::answer;
pub use question::Question;
pub use report::report;
