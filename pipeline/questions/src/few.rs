//! Why a comparison has no interval, in words.

use hobble_statistics::TooFew;
use hobble_statistics::few::{Group, Size};

use crate::words;

/// What a sort of question calls its trials and outcomes.
pub struct Nouns<'a> {
    /// Where there is nothing to compare.
    pub nothing: &'a str,
    /// One trial of the group looked at.
    pub own: &'a str,
    /// One trial of the group it is compared with.
    pub other: &'a str,
    /// What no trial of the group looked at has.
    pub incomparable: &'a str,
    /// What stands behind a number of trials that met the outcome, with a space before it.
    pub outcome: &'a str,
}

impl Nouns<'_> {
    /// `too few games to tell: ` and [`Self::reason`].
    pub fn sentence(&self, few: TooFew) -> String {
        format!("too few games to tell: {}", self.reason(few))
    }

    /// The counts, as `12 held turns in 1 fold (asked: 20 in 5)`.
    pub fn reason(&self, few: TooFew) -> String {
        let noun = |group| match group {
            Group::Own => self.own,
            Group::Other => self.other,
        };
        let folds = |number: u32| words::counted(u64::from(number), "fold");
        match few {
            TooFew::Nothing => self.nothing.to_owned(),
            TooFew::Incomparable { have } => format!(
                "none of {} {}",
                words::counted(have, self.own),
                self.incomparable
            ),
            TooFew::Trials { of, have, need } => format!(
                "{} in {} (asked: {} in {})",
                words::counted(have.count, noun(of)),
                folds(have.folds),
                need.count,
                need.folds
            ),
            TooFew::Outcomes {
                of,
                have: Size { count, folds: with },
                need,
            } => format!(
                "{}{}, in {} (asked: {need} folds)",
                words::counted(count, noun(of)),
                self.outcome,
                folds(with)
            ),
        }
    }
}
