//! Which figures stand out, once it is known how many were tried.

use crate::answer::{Measure, Unit};
use hobble_conditions::words;
use hobble_statistics::LEVEL;
use hobble_statistics::false_discovery::benjamini_hochberg;
use hobble_statistics::fit;
use hobble_statistics::interval::StandardError;

/// A figure that differs by less than one in ten is too small to act on.
pub const LEAST_RATIO: f64 = 1.1;

/// So is one that comes to less than one case in twenty games.
pub const LEAST_A_GAME: f64 = 0.05;

/// How a figure of the player stands beside the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standing {
    /// The interval holds 1.
    NotTold,
    /// It does not, but among so many figures that may be chance.
    MaybeChance,
    /// It differs, by too little to act on.
    TooSmall,
    /// It differs, and enough to act on.
    Apart,
}

/// The rule, for a reader.
pub const RULE: &str = "Named are figures that stand apart once it is allowed for how many were tried (Benjamini and Hochberg, false discovery rate 5%), differ by at least one in ten, and by at least one case in twenty games.";

/// Judges figures that are tried together; `games` are the player's. Figures of which
/// `counts` says no are not tried: another one says the same from the other side.
pub fn judge(
    measures: Vec<&mut Measure>,
    others: &str,
    weight: impl Fn(&Measure) -> f64,
    counts: impl Fn(&Measure) -> bool,
) {
    let p: Vec<f64> = measures
        .iter()
        .map(|one| p_of(one).filter(|_| counts(one)).unwrap_or(f64::NAN))
        .collect();
    for (one, adjusted) in measures.into_iter().zip(benjamini_hochberg(&p)) {
        one.adjusted = Some(adjusted).filter(|p| p.is_finite());
        let standing = standing(one, weight(one));
        one.stands_out = standing == Some(Standing::Apart) && one.adjusted.is_some();
        one.verdict = verdict(one, standing, others);
    }
}

/// The p-value of the ratio being 1, by the error and degrees of freedom of its interval.
fn p_of(one: &Measure) -> Option<f64> {
    let interval = one.ratio.jackknife?;
    let error = StandardError::new(interval.se?, interval.df?)?;
    fit::p(one.ratio.value?.ln(), error)
}

/// `weight` is the number of cases a game that a difference of 1 comes to.
fn standing(one: &Measure, weight: f64) -> Option<Standing> {
    let (ratio, interval) = (one.ratio.value?, one.ratio.jackknife?);
    let holds_one = interval.low <= 1.0 && interval.high >= 1.0;
    if holds_one {
        return Some(Standing::NotTold);
    }
    if one.adjusted.is_some_and(|p| p > 1.0 - LEVEL) {
        return Some(Standing::MaybeChance);
    }
    let a_game = one.difference.value.unwrap_or(0.0).abs() * weight;
    let enough = ratio.max(1.0 / ratio) >= LEAST_RATIO && a_game >= LEAST_A_GAME;
    Some(if enough {
        Standing::Apart
    } else {
        Standing::TooSmall
    })
}

fn verdict(one: &Measure, standing: Option<Standing>, others: &str) -> String {
    let label = &one.label;
    if let Some(few) = one.too_few {
        return format!("{label}: {few}.");
    }
    let (Some(standing), Some(value), Some(bounds)) =
        (standing, one.ratio.value, one.ratio.jackknife)
    else {
        return format!("{label}: no interval can be given, so nothing is said.");
    };
    let digits = words::ratio_digits(Some(bounds));
    let times = format!(
        "{value:.digits$} times ({:.digits$} to {:.digits$})",
        bounds.low, bounds.high
    );
    let more = if value > 1.0 { "more" } else { "less" };
    match standing {
        Standing::NotTold => {
            format!("{label}: these games do not tell the player from {others}, {times}.")
        }
        Standing::MaybeChance => format!(
            "{label}: {more} than {others}, {times}, which may be chance among so many figures."
        ),
        Standing::TooSmall => {
            format!("{label}: {more} than {others}, {times}, too little to act on.")
        }
        Standing::Apart => format!("{label}: {more} than {others}, {times}."),
    }
}

/// Cases a game that a difference of 1 in a figure comes to. What is counted in the sample of turns
/// stands for `sample` of its kind.
pub fn weight(one: &Measure, games: u64, sample: u32) -> f64 {
    match one.unit {
        Unit::PerGame => 1.0,
        Unit::Share | Unit::Seconds => {
            let each = if one.sampled { f64::from(sample) } else { 1.0 };
            each * one.you.base as f64 / games.max(1) as f64
        }
    }
}
