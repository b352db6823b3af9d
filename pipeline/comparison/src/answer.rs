//! The answer to a question, as plain data: what the text, CSV, JSON, Markdown and HTML
//! renderings are all made from.
//!
//! Field names are stable: they are the keys of `--format json`. A field may be added; one
//! that is there keeps its name and meaning, or [`FORMAT`] goes up. Rates and risks are
//! fractions from 0 to 1, never percent. `null` means that the figure does not exist for
//! these counts; the row's `too_few` or `remarks` say why.

use std::collections::BTreeMap;
use std::ops::Deref;

use hobble_dataset::DatasetSummary;
pub use hobble_statistics::{Estimate, Interval};
use serde::ser::Error as _;
use serde::{Serialize, Serializer};

use crate::question::Question;
use hobble_conditions::QuestionText;
use hobble_conditions::terms::{Key, Kind};
use hobble_examples::{ExampleBoard, GameReference};
use hobble_report::Method;
use hobble_report::few::Lack;

/// Version of the shape of [`Answer`].
pub const FORMAT: u32 = 2;

/// A question, what it was asked with, and what the tables say to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// Version of this shape: [`FORMAT`].
    pub format: u32,
    /// Version of the program that answered.
    pub hobble: String,
    /// Version of the definitions the tables were made with.
    pub definitions: u32,
    /// The question's own words.
    pub question: QuestionText,
    /// What it was asked with, overrides applied.
    pub parameters: Parameters,
    /// What the tables were made from.
    pub dataset: DatasetSummary,
    /// One row a group, sorted; with more than one group the last row is all of them.
    pub rows: Vec<Row>,
    /// Example games, the clearest first.
    pub examples: Vec<Example>,
    /// How each figure was worked out, with its published source.
    pub methods: Vec<Method>,
    /// Cautions and remarks on the whole, in full sentences.
    pub notes: Vec<String>,
}

/// What the question was asked with, overrides applied.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Parameters {
    /// What its file says, without the texts.
    #[serde(flatten, serialize_with = "without_texts")]
    pub question: Question,
    /// Confidence level of every interval.
    pub level: f64,
}

/// Writes a question without its texts, which stand apart, and without its number of examples.
fn without_texts<S: Serializer>(question: &Question, to: S) -> Result<S::Ok, S::Error> {
    let mut fields = serde_json::to_value(question).map_err(S::Error::custom)?;
    if let Some(fields) = fields.as_object_mut() {
        for name in ["name", "title", "text", "examples"] {
            fields.shift_remove(name);
        }
    }
    fields.serialize(to)
}

impl Parameters {
    /// What a question asks, without its texts and its number of examples.
    pub fn of(question: &Question, level: f64) -> Parameters {
        Parameters {
            question: Question {
                name: String::new(),
                title: String::new(),
                text: String::new(),
                examples: 0,
                ..question.clone()
            },
            level,
        }
    }
}

impl Deref for Parameters {
    type Target = Question;

    fn deref(&self) -> &Question {
        &self.question
    }
}

/// One row of the answer: a group, its restricted pieces, the free ones, and the comparison.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Value of each key of `parameters.group_by`; `all` in the row of all.
    pub group: BTreeMap<Key, String>,
    /// The group in words, as `knight` or `knight, endgame`; `all` in the row of all.
    pub label: String,
    /// Whether this is the row of all groups.
    pub all: bool,
    /// Pieces restrained, or held, to k safe squares or fewer.
    pub restricted: Side,
    /// Pieces with more safe squares, as they stand: no standardisation.
    pub free: Side,
    /// Restricted against free as they stand: no standardisation.
    pub raw: RawComparison,
    /// Restricted against comparable free ones: standardised to the restricted ones over the
    /// strata.
    pub standardised: Standardised,
    /// The ratio over that of all groups; where there are several and both have an interval.
    pub against_all: Option<RatioOfRatios>,
    /// Why the comparison has no interval, where the counts are too small: in JSON a sentence
    /// that begins with `too few games to tell`. An interval of one side alone is given where
    /// that side's counts allow it.
    pub too_few: Option<Lack>,
    /// What the row says in one sentence, never more than its interval allows.
    pub verdict: String,
    /// What else a reader of this row must know.
    pub remarks: Vec<String>,
}

/// Counts and rate of one side of a comparison.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Side {
    /// Rows of the table `turns`.
    pub rows: u64,
    /// Observations these stand for: turns of the owner × pieces.
    pub turns: u64,
    /// Observations with the counted outcome within the horizon.
    pub outcomes: u64,
    /// Observations alive when the game ended within the horizon (counted in `turns`).
    pub over: u64,
    /// Folds with at least one observation.
    pub folds: u32,
    /// Folds with at least one counted outcome.
    pub outcome_folds: u32,
    /// `outcomes / turns`.
    pub rate: Option<f64>,
    /// Delete-a-fold jackknife, on the logit scale, turned back to a rate.
    pub jackknife: Option<Interval>,
}

/// Restricted against free as they stand.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RawComparison {
    /// Restricted rate ÷ free rate; jackknife on the log scale.
    pub ratio: Estimate,
    /// Restricted rate − free rate; jackknife on the plain scale.
    pub difference: Estimate,
}

/// Restricted against comparable free pieces. Strata with too few rows of free pieces are left out
/// of both sides and counted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Standardised {
    /// Strata with restricted pieces that have enough free ones too.
    pub strata: u64,
    /// Strata with restricted pieces that have not, left out.
    pub strata_left_out: u64,
    /// Turns of restricted pieces in strata compared.
    pub restricted_turns: u64,
    /// Counted outcomes among them.
    pub restricted_outcomes: u64,
    /// Turns of restricted pieces in strata left out.
    pub restricted_turns_left_out: u64,
    /// Counted outcomes among those.
    pub restricted_outcomes_left_out: u64,
    /// Turns of free pieces in the strata compared.
    pub free_turns: u64,
    /// Counted outcomes among them.
    pub free_outcomes: u64,
    /// Rows of the table behind those turns.
    pub free_rows: u64,
    /// `restricted_outcomes / restricted_turns`; jackknife on the logit scale.
    pub restricted_rate: Estimate,
    /// Rate the free pieces would have, were they spread over the strata as the restricted ones
    /// are; jackknife on the logit scale.
    pub free_rate: Estimate,
    /// `restricted_rate / free_rate`; jackknife on the log scale.
    pub ratio: Estimate,
    /// `restricted_rate − free_rate`; jackknife on the plain scale.
    pub difference: Estimate,
}

/// A game in which a restrained piece met the counted outcome.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Example {
    /// The game.
    pub game: GameReference,
    /// Kind of the piece.
    pub kind: Kind,
    /// Its owner: `white` or `black`.
    pub color: String,
    /// Where it stands when the spell starts.
    pub square: String,
    /// Its safe squares before the move that took them.
    pub safe_before: u8,
    /// Its safe squares when the spell starts.
    pub safe: u8,
    /// How the spell ended: `lost`, `traded` or `sold`.
    pub end: String,
    /// Position at which the spell starts.
    pub start_ply: u32,
    /// Ply of the opponent's move that took the squares.
    pub cause_ply: u32,
    /// Ply that captured the piece.
    pub end_ply: u32,
    /// Kinds of enemy units that attack it at the start, as letters in the order PNBRQK.
    pub attacked_by: String,
    /// Whether an own unit defends it at the start.
    pub defended: bool,
    /// Phase at the start.
    pub phase: String,
    /// One sentence saying what the board shows.
    pub caption: String,
    /// Boards and moves; `null` where the table of moves was not written.
    pub board: Option<ExampleBoard>,
}

/// A group's ratio over that of all groups.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RatioOfRatios {
    /// The one ratio over the other.
    pub value: f64,
    /// Lower bound of its interval.
    pub low: f64,
    /// Upper bound of its interval.
    pub high: f64,
    /// Standard error of its logarithm.
    pub se: f64,
    /// Degrees of freedom of the t quantile.
    pub df: u32,
    /// Two-sided p-value of its being 1.
    pub p: f64,
    /// The same, adjusted for the tests of all groups by Holm's method.
    pub p_holm: f64,
}
