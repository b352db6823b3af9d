//! The rung *decision* in a sentence that says no more than its intervals allow.

use hobble_conditions::terms::MovedBy;
use hobble_conditions::words;
use hobble_report::number::{percent, signed};
use hobble_statistics::few::COVERED;
use hobble_statistics::{Estimate, Interval};

use super::decision::{Decision, NOUNS, PlayedAgainst, Unmeasured};
use super::evidence::Standing;
use super::file::Claim;
use super::outcome::ClaimOutcome;
use super::times_words::times;

/// Why the rung is not measured.
pub fn unmeasured(why: Unmeasured) -> &'static str {
    match why {
        Unmeasured::NoTable => {
            "Not measured: the table of decisions was not written. Scan the archive again for it."
        }
        Unmeasured::Held => {
            "Not measured: chances are counted of moves that restrain a piece, not of every way to hold one."
        }
        Unmeasured::K => {
            "Not measured: chances are kept for knights and bishops left one safe square at most, for rooks and queens left two."
        }
        Unmeasured::Filter => {
            "Not measured: the claim chooses its pieces by something that is not kept of chances."
        }
        Unmeasured::Outcome => {
            "Not measured: changes of the evaluation are not counted for chances."
        }
    }
}

/// The sentence of the rung.
pub fn sentence(claim: &Claim, decision: &Decision, standing: &Standing) -> String {
    let where_ = format!("Where {}", could(claim));
    let Some(own) = decision.own() else {
        return format!("{where_}: no such turn was met.");
    };
    match standing {
        Standing::TooFew(few) => format!("{where_}: {}.", NOUNS.lack(*few).plainly()),
        Standing::Uncovered { share } => format!(
            "{where_}: only {} of the turns at which that was played have comparable ones ({} needed).",
            percent(*share),
            percent(COVERED)
        ),
        _ if claim.outcome == ClaimOutcome::Score => format!("{where_}, {}.", scored(own)),
        _ => format!("{where_}, {}. There {}.", came(claim, own), scored(own)),
    }
}

/// What the rung adds to the verdict; nothing where it was not measured.
pub fn in_verdict(claim: &Claim, standing: &Standing) -> String {
    let Standing::Found(found) = standing else {
        return String::new();
    };
    let often = times(found.estimate);
    let what = to_the_piece(claim);
    let there = format!("where {}", could(claim));
    match found.estimate.jackknife {
        Some(Interval { low, .. }) if low > 1.0 => format!(
            "It holds at the decision itself: {there}, {what} more often if that was played than if something else was: {often}."
        ),
        Some(Interval { high, .. }) if high < 1.0 => format!(
            "But {there}, {what} less often if that was played than if something else was: {often}."
        ),
        _ => format!(
            "But {there}, playing that rather than something else made no difference that these games can show: {often}."
        ),
    }
}

/// `the knight was lost`.
pub fn to_the_piece(claim: &Claim) -> String {
    match claim.kinds.as_slice() {
        [kind] => happened(claim, &format!("the {kind}")),
        _ => happened(claim, "the piece"),
    }
}

/// `a pawn's move could have restrained a knight`.
pub fn could(claim: &Claim) -> String {
    let by = match claim.by {
        MovedBy::Any => "a quiet move",
        MovedBy::Pawn => "a pawn\u{2019}s move",
        MovedBy::Piece => "the move of a piece or king",
    };
    format!("{by} could have restrained {}", pieces(claim))
}

/// `a knight`, `a bishop or knight`, `a piece`.
fn pieces(claim: &Claim) -> String {
    match claim.kinds.as_slice() {
        [kind] => format!("a {kind}"),
        [one, other] => format!("a {one} or {other}"),
        _ => "a piece".to_owned(),
    }
}

/// What happened, in words; `who` is the piece.
fn happened(claim: &Claim, who: &str) -> String {
    match claim.outcome {
        ClaimOutcome::AnotherLost => "another piece of that side was lost".to_owned(),
        ClaimOutcome::MaterialLost => "its owner stood two pawns worse or more".to_owned(),
        _ => format!("{who} was {}", words::happened(claim.of_piece())),
    }
}

/// How often the outcome came.
fn came(claim: &Claim, own: &PlayedAgainst) -> String {
    let what = happened(claim, "it");
    let rate = |estimate: Estimate| {
        estimate
            .value
            .map_or_else(|| "no figure".to_owned(), percent)
    };
    let chance = match own.ratio.jackknife {
        Some(Interval { low, high, .. }) if low <= 1.0 && high >= 1.0 => ", which may be chance",
        _ => "",
    };
    format!(
        "{what} within {} moves in {} of the turns at which that was played and in {} of those at which something else was, {}{chance}",
        claim.within,
        rate(own.rate),
        rate(own.not_played_rate),
        times(own.ratio)
    )
}

/// What both scored.
fn scored(own: &PlayedAgainst) -> String {
    let score = |estimate: Estimate| {
        estimate
            .value
            .map_or_else(|| "(no figure)".to_owned(), |value| format!("{value:.3}"))
    };
    let apart = match own.score_difference.jackknife {
        None => "too few games to tell them apart".to_owned(),
        Some(Interval { low, high, .. }) => {
            let interval = format!("{} to {}", signed(low, 3), signed(high, 3));
            if low <= 0.0 && high >= 0.0 {
                format!("no difference that these games can show ({interval})")
            } else {
                let value = own.score_difference.value.unwrap_or_default();
                format!("{} ({interval})", signed(value, 3))
            }
        }
    };
    format!(
        "those who played it scored {} points a game, those who played something else {}: {apart}",
        score(own.score),
        score(own.not_played_score),
    )
}
