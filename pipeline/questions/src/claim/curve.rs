//! What has become of the held pieces by each of the next twenty moves: exact counts, since
//! every game is known to its end, with the game's end as a competing end.

use std::collections::BTreeMap;

use super::answer::{CurvePoint, Shares};
use super::compare::LEAST;
use super::held::{Fate, Held};
use crate::answer::Estimate;
use hobble_statistics::interval::existing;
use hobble_statistics::risk::Scale;
use hobble_statistics::{LEVEL, jackknife};

/// Moves the curve goes to.
pub const MOVES: u32 = 20;

/// Shares of several ends, each with its interval, from counts by fold. `counts[end]` are the
/// spells of a fold that met the end.
pub fn shares<const N: usize>(folds: &BTreeMap<u32, (u64, [u64; N])>) -> [Shares; N] {
    let total: u64 = folds.values().map(|fold| fold.0).sum();
    std::array::from_fn(|end| {
        let count: u64 = folds.values().map(|fold| fold.1[end]).sum();
        let whole = count as f64 / total as f64;
        let with = folds.values().filter(|fold| fold.1[end] > 0).count() as u32;
        let enough = total >= LEAST.trials
            && folds.len() as u32 >= LEAST.folds
            && with >= LEAST.outcome_folds;
        let replicates: Vec<f64> = folds
            .values()
            .map(|fold| {
                Scale::Logit.forward((count - fold.1[end]) as f64 / (total - fold.0) as f64)
            })
            .collect();
        Shares {
            count,
            share: Estimate {
                value: existing(whole),
                jackknife: enough
                    .then(|| {
                        let folds = folds.len() as u32;
                        jackknife::interval(Scale::Logit, whole, &replicates, folds, LEVEL)
                    })
                    .flatten(),
            },
        }
    })
}

/// The curve of the spells at k that lasted so many turns.
pub fn curve(held: &[Held], k: u8, turns: u32) -> Vec<CurvePoint> {
    // By fold: spells, and by move how many ended so by then.
    let mut all: Vec<BTreeMap<u32, (u64, [u64; 4])>> = vec![BTreeMap::new(); MOVES as usize];
    for spell in held.iter().filter(|spell| spell.is(k, turns)) {
        let captured = spell.captured(turns);
        for (moves, folds) in (1..).zip(&mut all) {
            let (spells, ends) = folds.entry(spell.fold).or_default();
            *spells += 1;
            match captured {
                Some((after, fate)) if after <= 2 * moves => {
                    ends[match fate {
                        Fate::Lost => 0,
                        Fate::Traded => 1,
                        _ => 2,
                    }] += 1;
                }
                _ => ends[3] += u64::from(spell.over(turns, moves)),
            }
        }
    }
    (1..)
        .zip(&all)
        .map(|(moves, folds)| {
            let [lost, traded, sold, over] = shares(folds);
            CurvePoint {
                moves,
                lost,
                traded,
                sold,
                over,
            }
        })
        .collect()
}
