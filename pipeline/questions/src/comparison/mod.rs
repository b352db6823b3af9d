//! Held pieces against comparable free ones: the report on an [`Answer`](crate::Answer).

mod games;
mod report;
mod tables;
mod tidy;
pub mod words;

pub use report::report;
