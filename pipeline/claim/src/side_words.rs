//! What became of the side, in a sentence that says no more than its interval allows.

use hobble_report::number::{percent, signed};
use hobble_statistics::{Estimate, Interval};

use super::evidence::Standing;
use super::file::Claim;
use super::outcome::ClaimOutcome;
use super::side::{self, SideOutcome};
use super::side_guard::SideGuards;
use super::times_words::{ratio, times};
use hobble_conditions::terms::MAX_K;
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

/// The pieces of the guard: `bishops kept to 3 or 4 safe squares for as long`.
pub fn milder(claim: &Claim) -> String {
    let kinds: Vec<String> = claim.kinds.iter().map(|kind| format!("{kind}s")).collect();
    let squares = match claim.k + 1 {
        MAX_K => format!("{MAX_K}"),
        least if least + 1 == MAX_K => format!("{least} or {MAX_K}"),
        least => format!("{least} to {MAX_K}"),
    };
    let long = if claim.turns == claim.first_turn() {
        "by a quiet move"
    } else {
        "for as long"
    };
    format!(
        "{} kept to {squares} safe squares {long}",
        words::list(&kinds)
    )
}

/// The sentence of the rung: what a milder restraint goes with.
pub fn of_guard(claim: &Claim, guards: Option<&SideGuards>) -> String {
    let Some(milder_) = guards.and_then(|guards| guards.placebo.as_ref()) else {
        return "Not measured: there are no pieces restrained less to set beside these.".to_owned();
    };
    let who = milder(claim);
    if milder_.few.is_some() || milder_.beyond.jackknife.is_none() {
        return format!("Too few games with {who} to set beside the claim.");
    }
    let beyond = match milder_.sides.outcome {
        ClaimOutcome::Score => worse(milder_.beyond, "a point"),
        ClaimOutcome::Evaluation => worse(milder_.beyond, "a pawn"),
        _ => format!(
            "the claim\u{2019}s figure is {}",
            ratio(milder_.beyond, "times that")
        ),
    };
    let chance = if milder_.holds {
        ""
    } else {
        ", which may be chance"
    };
    format!(
        "{} Set against them, {beyond}{chance}. The result belongs to the whole side, so no other outcome of it can be a guard.",
        sentence(&who, &milder_.sides)
    )
}

/// `the claim\u{2019}s sides did worse by 0.06 of a point (\u{2212}0.13 to +0.01)`.
fn worse(beyond: Estimate, of: &str) -> String {
    let (Some(value), Some(Interval { low, high, .. })) = (beyond.value, beyond.jackknife) else {
        return "the claim\u{2019}s sides cannot be told apart".to_owned();
    };
    format!(
        "the claim\u{2019}s sides did {} by {:.2} of {of} ({} to {})",
        if value < 0.0 { "worse" } else { "better" },
        value.abs(),
        signed(low, 2),
        signed(high, 2)
    )
}

/// What the guard adds to the verdict.
pub fn guard_in_verdict(claim: &Claim, standing: &Standing) -> String {
    let who = milder(claim);
    if standing.holds() {
        format!("It is more than goes with {who}, so the last squares seem to count.")
    } else if standing.fails() {
        format!("But these games do not show that it costs more than having {who}.")
    } else {
        String::new()
    }
}

/// The outcome of the side that a claim is about, in a few words: `a score of 0.40 (0.34 to 0.46)`.
/// `None` where the claim is about the piece itself, or nothing is known.
pub fn in_short(claim: &Claim, outcomes: &[SideOutcome]) -> Option<String> {
    let row = side::own(claim, outcomes)?;
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
