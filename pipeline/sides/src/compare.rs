//! Sides of each level beside comparable ones of the reference level.

use hobble_report::few::{Lack, Nouns};
use hobble_statistics::few::{Group, Least, Size};
use hobble_statistics::interval::existing;
use hobble_statistics::risk::Scale;
use hobble_statistics::{Interval, TooFew};
use serde::Serialize;

use super::cells::{Cells, Folds, Replicates, Sums};
use super::estimate::Clustered;
use super::level::{MOST, Measure};
use super::stratum::Stratum;

/// The least that an interval asks for.
pub const LEAST: Least = Least {
    trials: 20,
    folds: 5,
    outcome_folds: 5,
};

/// What positions are called.
const NOUNS: Nouns<'static> = Nouns {
    nothing: "no such position was met",
    own: "such position",
    other: "comparable position",
    incomparable: "has a comparable position",
    outcome: " with the outcome",
};

/// The first plies of the ten-ply windows that have a curve of their own.
pub const WINDOWS: [u16; 3] = [20, 40, 60];

/// Plies of a window.
pub const WINDOW: u16 = 10;

/// Sides of one level.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfLevel {
    /// What sides are compared by.
    pub measure: Measure,
    /// The level, in a few signs.
    pub level: String,
    /// Its least value; `null` where it has none.
    pub low: Option<i32>,
    /// Its greatest value; `null` where it has none.
    pub high: Option<i32>,
    /// Whether the others are compared with it.
    pub reference: bool,
    /// Its positions.
    pub positions: u64,
    /// Games they are of; `null` where they were not counted: in windows.
    pub games: Option<u64>,
    /// What their sides scored, in half points.
    pub half_points: u64,
    /// Those whose side lost material.
    pub lost_positions: u64,
    /// Mean score.
    pub score: Clustered,
    /// Share that lost material.
    pub lost: Clustered,
    /// Share of the positions that have comparable ones.
    pub covered: Option<f64>,
    /// Strata compared.
    pub strata: u64,
    /// Mean score of comparable positions of the reference level.
    pub comparable_score: Option<f64>,
    /// Share of these that lost material.
    pub comparable_lost: Option<f64>,
    /// Score of those compared less that of the comparable ones.
    pub score_difference: Clustered,
    /// Share that lost material less that of the comparable ones.
    pub lost_difference: Clustered,
    /// Score of the reference level and the difference to it.
    pub adjusted_score: Clustered,
    /// Why there is no interval: in JSON a sentence.
    pub too_few: Option<Lack>,
}

/// Every level of a measure, of all positions asked about.
pub fn levels(cells: &Cells, measure: Measure, games: &[u64; MOST]) -> Vec<OfLevel> {
    let mut levels = compared(cells, measure, |_| true);
    for (level, games) in levels.iter_mut().zip(games) {
        level.games = Some(*games);
    }
    levels
}

/// Every level of a measure within ten plies.
pub fn window(cells: &Cells, measure: Measure, from: u16) -> Vec<OfLevel> {
    compared(cells, measure, |stratum| stratum.ply() == from)
}

fn compared(
    cells: &Cells,
    measure: Measure,
    passes: impl Fn(Stratum) -> bool + Sync,
) -> Vec<OfLevel> {
    let replicates = |folds| cells.table(measure, folds, &passes).replicates();
    let (games, players) = rayon::join(|| replicates(Folds::Games), || replicates(Folds::Players));
    let reference = games[measure.reference()].folds[0];
    games
        .iter()
        .zip(&players)
        .enumerate()
        .map(|(level, both)| of_level(measure, level, both, reference))
        .collect()
}

fn of_level(
    measure: Measure,
    level: usize,
    both: (&Replicates, &Replicates),
    reference_folds: u32,
) -> OfLevel {
    let (games, _) = both;
    let sums = &games.whole;
    let is_reference = level == measure.reference();
    let few = too_few(sums, games.folds[0], reference_folds);
    let outcomes = LEAST.outcome_folds <= games.folds[1];
    let estimate = |scale, of: fn(&Sums) -> f64, enough: bool| {
        let interval = |of_folds: &Replicates| -> Option<Interval> {
            let enough = enough && few.is_none() && of_folds.folds[0] >= LEAST.folds;
            enough.then(|| of_folds.interval(scale, of)).flatten()
        };
        Clustered {
            value: existing(of(sums)),
            by_games: interval(games),
            by_players: interval(both.1),
        }
    };
    // The reference level has nothing to be compared with.
    let beside = |scale, of, enough| match is_reference {
        true => Clustered::default(),
        false => estimate(scale, of, enough),
    };
    let plain = |of: fn(&Sums) -> f64| existing(of(sums)).filter(|_| !is_reference);
    let (low, high) = measure.bounds(level);
    let covered = sums.compared.positions as f64 / sums.raw.positions as f64;
    OfLevel {
        measure,
        level: measure.short(level),
        low,
        high,
        reference: is_reference,
        positions: sums.raw.positions,
        games: None,
        half_points: sums.raw.half_points,
        lost_positions: sums.raw.lost,
        score: estimate(Scale::Plain, Sums::score, true),
        lost: estimate(Scale::Logit, Sums::lost, outcomes),
        covered: existing(covered).filter(|_| !is_reference),
        strata: if is_reference { 0 } else { sums.strata },
        comparable_score: plain(Sums::comparable_score),
        comparable_lost: plain(Sums::comparable_lost),
        score_difference: beside(Scale::Plain, Sums::score_difference, true),
        lost_difference: beside(Scale::Plain, Sums::lost_difference, outcomes),
        adjusted_score: match is_reference {
            true => estimate(Scale::Plain, Sums::score, true),
            false => estimate(Scale::Plain, Sums::adjusted_score, true),
        },
        too_few: few.map(|few| NOUNS.lack(few)),
    }
}

fn too_few(sums: &Sums, own_folds: u32, reference_folds: u32) -> Option<TooFew> {
    let need = Size {
        count: LEAST.trials,
        folds: LEAST.folds,
    };
    let size = |count, folds| Size { count, folds };
    let short = |have: Size| have.count < need.count || have.folds < need.folds;
    let own = size(sums.compared.positions, own_folds);
    let other = size(sums.reference.positions, reference_folds);
    match sums.raw.positions {
        0 => Some(TooFew::Nothing),
        have if sums.strata == 0 => Some(TooFew::Incomparable { have }),
        _ if short(own) => Some(TooFew::Trials {
            of: Group::Own,
            have: own,
            need,
        }),
        _ if short(other) => Some(TooFew::Trials {
            of: Group::Other,
            have: other,
            need,
        }),
        _ => None,
    }
}
