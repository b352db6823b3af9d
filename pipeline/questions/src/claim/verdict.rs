//! The verdict in plain words: never more than the interval allows.

use super::answer::Compared;
use super::compare::NOUNS;
use super::file::Claim;
use crate::words;

/// One sentence on the claim, and that it is an association.
pub fn verdict(claim: &Claim, compared: &Compared) -> String {
    if let Some(few) = compared.few {
        return format!("Too few games to tell: {}.", NOUNS.reason(few));
    }
    let (Some(held), Some(free), Some(ratio), Some(interval)) = (
        compared.held_rate.value,
        compared.free_rate.value,
        compared.ratio.value,
        compared.ratio.jackknife,
    ) else {
        return "Too few games to tell: the comparison has no interval.".to_owned();
    };
    let happened = words::happened(claim.outcome);
    let digits = words::ratio_digits(Some(interval));
    let figures = format!(
        "{} against {} within {} moves, {ratio:.digits$} times as often (95% interval {:.digits$} to {:.digits$})",
        words::percent(held),
        words::percent(free),
        claim.within,
        interval.low,
        interval.high
    );
    let who = claim.in_words();
    let cause = "That is an association in played games, not proof that holding them caused it.";
    if interval.low > 1.0 {
        format!(
            "In these games {who} were {happened} more often than comparable free ones: {figures}. {cause}"
        )
    } else if interval.high < 1.0 {
        format!(
            "In these games {who} were {happened} less often than comparable free ones: {figures}. {cause}"
        )
    } else {
        format!(
            "These games cannot tell whether {who} are {happened} more or less often than comparable free ones: {figures}."
        )
    }
}
