//! What was found, as plain data.

use hobble_claim::answer::{Guard, Twins};
use hobble_conditions::terms::Outcome;
use hobble_dataset::DatasetSummary;
use hobble_statistics::Estimate;
use serde::{Deserialize, Serialize};

use crate::league::Asked;
use crate::split::Counts;

/// Version of the shape of [`League`].
pub const FORMAT: u32 = 1;

/// The league of claims.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct League {
    /// Version of this shape: [`FORMAT`].
    pub format: u32,
    /// Version of the program.
    pub hobble: String,
    /// Version of the definitions the tables were made with.
    pub definitions: u32,
    /// Hash of the grid's file.
    pub grid: String,
    /// How the games were parted.
    pub games: Counts,
    /// Claims tried.
    pub tried: u64,
    /// Those of which there were enough pieces for an interval.
    pub tested: u64,
    /// Those that passed.
    pub passed: u64,
    /// Those asked of the locked half.
    pub opened: u64,
    /// Those that it confirms.
    pub confirmed: u64,
    /// How often the locked half has been opened, this time included; `null` where it was not.
    pub opening: Option<u32>,
    /// The horizon in moves.
    pub within: u32,
    /// What is counted.
    pub outcome: Outcome,
    /// The claims asked of the locked half, those confirmed first.
    pub claims: Vec<Entry>,
    /// What the tables were made from.
    pub dataset: DatasetSummary,
}

/// A claim of the league.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    /// Name of its file without `.toml`.
    pub name: String,
    /// Its pieces in words.
    pub pieces: String,
    /// Hash of what decides its counts.
    pub hash: String,
    /// What the half said in which it was found.
    pub search: OfHalf,
    /// What the locked half said.
    pub locked: OfHalf,
    /// Twins of the locked half: adjusted, then with nothing adjusted for.
    pub twins: Vec<Twins>,
    /// The loss of another piece of the side in the locked half.
    pub others: Guard,
    /// Whether the locked half confirms it.
    pub confirmed: bool,
}

/// What a half said to a claim.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OfHalf {
    /// Rows of the claim's pieces.
    pub rows: u64,
    /// The turns that these stand for.
    pub turns: u64,
    /// Those with the outcome.
    pub outcomes: u64,
    /// Their rate.
    pub rate: Estimate,
    /// Rate of comparable free pieces.
    pub free_rate: Estimate,
    /// The first divided by the second.
    pub ratio: Estimate,
    /// p-value of no difference.
    pub p: Option<f64>,
    /// Adjusted for all claims asked of this half.
    pub adjusted_p: Option<f64>,
}

impl From<&Asked> for OfHalf {
    fn from(asked: &Asked) -> OfHalf {
        let compared = &asked.compared;
        OfHalf {
            rows: compared.held_rows,
            turns: compared.held,
            outcomes: compared.held_outcomes,
            rate: compared.held_rate,
            free_rate: compared.free_rate,
            ratio: compared.ratio,
            p: asked.p,
            adjusted_p: asked.adjusted,
        }
    }
}

impl Entry {
    /// Whether twins of the locked half bear it out, adjusted and as they are; `None` where too few
    /// tell.
    pub fn twins_hold(&self) -> Option<bool> {
        let mut low = self.twins.iter().map(|twins| {
            let interval = twins.odds_ratio.jackknife?;
            Some(interval.low > 1.0)
        });
        low.try_fold(true, |all, one| Some(all && one?))
    }

    /// Order in the league: confirmed ones first, and the highest lower limit in the locked half.
    pub fn order(&self) -> f64 {
        let low = self.locked.ratio.jackknife.map_or(0.0, |it| it.low);
        -low - if self.confirmed { 1e9 } else { 0.0 }
    }
}
