//! What became of the side, in a sentence that says no more than its interval allows.

use hobble_report::number::{percent, signed};
use hobble_statistics::{Estimate, Interval};

use super::ClaimAnswer;
use super::outcome::ClaimOutcome;
use super::side::{self, SideOutcome};
use super::verdict::times;
use hobble_conditions::words;

/// The outcome of the sides with these pieces, beside the sides with comparable free ones.
pub fn sentence(who: &str, row: &SideOutcome) -> String {
    let within = row.within.map_or_else(String::new, |moves| {
        words::counted(u64::from(moves), "move")
    });
    let [own, free] =
        [row.held_value, row.free_value].map(|estimate| figure(row.outcome, estimate));
    match row.outcome {
        ClaimOutcome::Score => format!(
            "Sides with {who} scored {own} points a game, sides with comparable free ones {free}: {}.",
            apart(row.difference, "a point")
        ),
        ClaimOutcome::Evaluation => format!(
            "For sides with {who} the evaluation changed by {own} pawns in {within}, for sides with comparable free ones by {free}: {}.",
            apart(row.difference, "a pawn")
        ),
        ClaimOutcome::MaterialLost => format!(
            "Sides with {who} stood two pawns worse or more {within} later in {own} of cases, sides with comparable free ones in {free}{}.",
            often(row.ratio)
        ),
        outcome => format!(
            "Sides with {who}: {outcome} within {within} in {own} of cases, with comparable free ones in {free}{}.",
            often(row.ratio)
        ),
    }
}

/// The outcome of the side that a claim is about, in a few words: `a score of 0.40 (0.34 to 0.46)`.
/// `None` where the claim is about the piece itself, or nothing is known.
pub fn in_short(answer: &ClaimAnswer) -> Option<String> {
    let row = side::own(&answer.claim, &answer.side)?;
    let bound = |value: f64| {
        figure(
            row.outcome,
            Estimate {
                value: Some(value),
                jackknife: None,
            },
        )
    };
    let interval = row.held_value.jackknife.map_or_else(
        || "too few games for an interval".to_owned(),
        |interval| format!("{} to {}", bound(interval.low), bound(interval.high)),
    );
    let value = bound(row.held_value.value?);
    Some(match row.outcome {
        ClaimOutcome::Score => format!("a score of {value} ({interval})"),
        outcome => format!("{outcome}: {value} ({interval})"),
    })
}

fn figure(outcome: ClaimOutcome, estimate: Estimate) -> String {
    let Some(value) = estimate.value else {
        return "(no figure)".to_owned();
    };
    match outcome {
        ClaimOutcome::Score => format!("{value:.2}"),
        ClaimOutcome::Evaluation => signed(value, 2),
        _ => percent(value),
    }
}

fn often(ratio: Option<Estimate>) -> String {
    let Some(ratio) = ratio else {
        return String::new();
    };
    let chance = match ratio.jackknife {
        Some(Interval { low, high, .. }) if low <= 1.0 && high >= 1.0 => ", which may be chance",
        _ => "",
    };
    format!(", {}{chance}", times(ratio))
}

/// `0.13 of a point less (0.11 to 0.15)`.
fn apart(difference: Estimate, of: &str) -> String {
    let (Some(value), Some(interval)) = (difference.value, difference.jackknife) else {
        return "too few games to tell them apart".to_owned();
    };
    let Interval { low, high, .. } = interval;
    if low <= 0.0 && high >= 0.0 {
        return format!(
            "no difference that these games can show ({} to {})",
            signed(low, 2),
            signed(high, 2)
        );
    }
    let (less, [near, far]) = if value < 0.0 {
        ("less", [-high, -low])
    } else {
        ("more", [low, high])
    };
    format!("{:.2} of {of} {less} ({near:.2} to {far:.2})", value.abs())
}
