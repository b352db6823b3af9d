//! The answer to a question about sides, as plain data.
//!
//! Field names are stable: they are the keys of the JSON.

use hobble_dataset::DatasetSummary;
use hobble_report::Method;
use serde::Serialize;

pub use super::account::Account;
pub use super::boards::{Room, SideExample};
pub use super::changes::{Change, Squares};
pub use super::compare::OfLevel;
pub use super::estimate::Clustered;
pub use super::file::SideQuestion;
pub use super::level::Measure;
pub use super::models::{Fitted, Model, Slope, Taking};
pub use super::numbers::{Number, Positions};
pub use super::verdict::{Finds, Stands, Verdict};

/// An answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SidesAnswer {
    /// Version of this shape: [`FORMAT`](super::FORMAT).
    pub format: u32,
    /// `sides`.
    pub about: &'static str,
    /// Version of the program that answered.
    pub hobble: String,
    /// Version of the definitions the tables were made with.
    pub definitions: u32,
    /// What was asked.
    pub question: SideQuestion,
    /// Confidence level of every interval.
    pub level: f64,
    /// One position in so many is in the sample.
    pub sample: u32,
    /// How many positions were met, counted and left out.
    pub account: Account,
    /// The verdict.
    pub verdict: Verdict,
    /// What a coach may say of it, a sentence each.
    pub sentences: Vec<String>,
    /// By scope balance.
    pub scope: Vec<OfLevel>,
    /// By pieces held at once.
    pub held: Vec<OfLevel>,
    /// By pieces restrained at once.
    pub restrained: Vec<OfLevel>,
    /// By scope balance and by pieces held, within ten plies each.
    pub windows: Vec<Window>,
    /// Linear models.
    pub models: Vec<Fitted>,
    /// Squares gained in the last three moves beside squares kept.
    pub taking: Taking,
    /// Squares three moves before and now.
    pub changes: Vec<Change>,
    /// Typical positions.
    pub examples: Vec<SideExample>,
    /// How each figure was worked out, with its published source.
    pub methods: Vec<Method>,
    /// What the tables were made from.
    pub dataset: DatasetSummary,
    /// Cautions, in full sentences.
    pub notes: Vec<String>,
}

/// Every level of a measure within ten plies.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Window {
    /// First ply.
    pub from_ply: u16,
    /// Last ply.
    pub to_ply: u16,
    /// What sides are compared by.
    pub measure: Measure,
    /// The levels.
    pub levels: Vec<OfLevel>,
}
