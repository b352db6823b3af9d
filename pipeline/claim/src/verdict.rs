//! The verdict in plain words: never more than the interval allows.

use std::fmt;

use serde::{Serialize, Serializer};

use super::answer::Compared;
use super::file::Claim;
use hobble_conditions::words;

/// What a comparison found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// More often than comparable free pieces: the interval lies above 1.
    More,
    /// Less often: the interval lies below 1.
    Less,
    /// The interval holds 1.
    Undecided,
    /// The games are too few for an interval.
    TooFew,
    /// Nothing was compared at the claim's horizon.
    Nothing,
}

/// What a comparison found, and the sentence that says it. Serialised it is the sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// What was found.
    pub finding: Finding,
    words: String,
}

impl Verdict {
    /// A finding, and the sentence that says it.
    pub fn new(finding: Finding, words: impl Into<String>) -> Verdict {
        Verdict {
            finding,
            words: words.into(),
        }
    }

    /// Whether the sentence itself says that this is an association.
    pub const fn says_association(&self) -> bool {
        matches!(self.finding, Finding::More | Finding::Less)
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.words)
    }
}

impl Serialize for Verdict {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.words)
    }
}

/// What a claim's comparison at its own horizon found.
pub fn verdict(claim: &Claim, compared: Option<&Compared>) -> Verdict {
    let (finding, words) = match compared {
        Some(compared) => found(claim, compared),
        None => (Finding::Nothing, String::new()),
    };
    Verdict::new(finding, words)
}

fn found(claim: &Claim, compared: &Compared) -> (Finding, String) {
    if let Some(lack) = &compared.too_few {
        let words = words::capital(&format!("{}.", lack.sentence()));
        return (Finding::TooFew, words);
    }
    let (Some(held), Some(free), Some(ratio), Some(interval)) = (
        compared.held_rate.value,
        compared.free_rate.value,
        compared.ratio.value,
        compared.ratio.jackknife,
    ) else {
        let words = "Too few games to tell: the comparison has no interval.";
        return (Finding::TooFew, words.to_owned());
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
    let (finding, more) = if interval.low > 1.0 {
        (Finding::More, "more")
    } else if interval.high < 1.0 {
        (Finding::Less, "less")
    } else {
        let words = format!(
            "These games cannot tell whether {who} are {happened} more or less often than comparable free ones: {figures}."
        );
        return (Finding::Undecided, words);
    };
    let start = match finding {
        Finding::Less => "Not what these games say:",
        _ => "In these games",
    };
    let words = format!(
        "{start} {who} were {happened} {more} often than comparable free ones: {figures}. That is an association in played games, not proof that holding them caused it."
    );
    (finding, words)
}
