//! The answer to a report by rating band, as plain data.
//!
//! Field names are stable: they are the keys of the JSON and the names of the columns.

use hobble_dataset::DatasetSummary;
use serde::Serialize;

use super::measures::{Measure, Split};
use super::rating_model::RatingModel;
use hobble_conditions::QuestionText;
use hobble_conditions::terms::YesNo;
use hobble_report::Method;

/// A report, what it was asked with, and what the tables say to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BandsAnswer {
    /// Version of this shape: [`FORMAT`](super::FORMAT).
    pub format: u32,
    /// `bands`.
    pub about: &'static str,
    /// Version of the program that answered.
    pub hobble: String,
    /// Version of the definitions the tables were made with.
    pub definitions: u32,
    /// The report's own words.
    pub question: QuestionText,
    /// What it was asked with.
    pub parameters: BandsParameters,
    /// What the tables were made from.
    pub dataset: DatasetSummary,
    /// How the scan cut time classes.
    pub scan: ScanParameters,
    /// The long table: one row a measure, split, level and kind.
    pub cells: Vec<BandCell>,
    /// One row a measure and kind: does it rise or fall with the band?
    pub trends: Vec<Trend>,
    /// One row a measure: own and opponent's rating in one model.
    pub rating_models: Vec<RatingModel>,
    /// How many cells are shown and tested.
    pub multiplicity: Multiplicity,
    /// How each figure was worked out, with its published source.
    pub methods: Vec<Method>,
    /// Text for the methods section of a paper, a paragraph each.
    pub methods_text: Vec<String>,
    /// How to cite the data: archive, hash, definitions, ids.
    pub citation: String,
    /// Cautions, in full sentences.
    pub notes: Vec<String>,
}

/// What a report was asked with.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BandsParameters {
    /// A piece is held where it has this many safe squares or fewer.
    pub k: u8,
    /// Horizon of the loss risk in moves.
    pub within: u32,
    /// Whether only developed (or only undeveloped) pieces are looked at.
    pub developed: YesNo,
    /// Width of a rating band in points.
    pub band_width: u16,
    /// What the games are split by.
    pub split: Vec<Split>,
    /// Least denominator in turns, moves or spells for a cell to be shown.
    pub minimum_turns: u64,
    /// Least player-games for a cell counted by games to be shown.
    pub minimum_games: u64,
    /// Least folds with anything in them for a cell to be shown.
    pub minimum_folds: u32,
    /// Confidence level of every interval.
    pub level: f64,
}

/// How the scan cut time classes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ScanParameters {
    /// Upper bounds of bullet, blitz and rapid in seconds.
    pub time_cuts: Vec<u64>,
}

/// One cell of the long table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BandCell {
    /// What is measured.
    pub measure: Measure,
    /// What the games are split by.
    pub split: Split,
    /// Which level of the split.
    pub level: String,
    /// Kind of piece, or `all`; of the squares taken the kind that moved.
    pub kind: String,
    /// The figure; none where suppressed or without a denominator.
    pub estimate: Option<f64>,
    /// Lower bound of its interval.
    pub low: Option<f64>,
    /// Upper bound of its interval.
    pub high: Option<f64>,
    /// Denominator.
    pub n: u64,
    /// Folds with anything in the denominator.
    pub folds: u32,
    /// What `n` counts.
    pub n_unit: String,
    /// Unit of the figure.
    pub unit: String,
    /// How figure and interval were made; why there is no interval.
    pub method: String,
    /// Whether the cell has too few and is not shown.
    pub suppressed: bool,
    /// Players named in the cell, by their keys; none where the table `sides` does not give it.
    pub players: Option<u64>,
    /// Largest share of the denominator that one of them has.
    pub largest_share: Option<f64>,
    /// Share of the standard population in strata the cell has; for standardised figures.
    pub covered: Option<f64>,
    /// The figure over that of all levels: a ratio, of odds where the figure is a share.
    pub against_all: Option<f64>,
    /// Two-sided p-value of that ratio being 1.
    pub p: Option<f64>,
    /// The same, adjusted for all tests of the report by Holm's method.
    pub p_holm: Option<f64>,
}

/// Trend of a measure over the rating bands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trend {
    /// What is measured.
    pub measure: Measure,
    /// Kind of piece, or `all`.
    pub kind: String,
    /// Bands it is taken from.
    pub bands: u32,
    /// Factor by which the figure (its odds, for shares) changes with 100 rating points.
    pub per_100_points: f64,
    /// Lower bound of its interval.
    pub low: f64,
    /// Upper bound of its interval.
    pub high: f64,
    /// Two-sided p-value of no trend.
    pub p: f64,
    /// The same, adjusted for all tests of the report by Holm's method.
    pub p_holm: f64,
    /// p-value of the bands lying on a straight line, taken as independent; not adjusted.
    pub p_line: f64,
}

impl Trend {
    /// Whether the bands lie beside their line by more than chance makes likely.
    pub fn bends(&self) -> bool {
        self.p_line < 0.05
    }
}

/// How many cells and tests there are.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Multiplicity {
    /// Cells of the table.
    pub cells: usize,
    /// Those shown.
    pub shown: usize,
    /// Those suppressed: too few.
    pub suppressed: usize,
    /// Tests, of cells and of trends.
    pub tests: usize,
    /// Tests below 0.05 before the adjustment.
    pub below_raw: usize,
    /// Tests below 0.05 after it.
    pub below_holm: usize,
}
