//! Why a comparison has no interval, in words.

use hobble_statistics::TooFew;
use hobble_statistics::few::{Group, Size};

use serde::{Serialize, Serializer};

use crate::number;

/// Why a comparison has no interval: the counts, and what they are called.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lack {
    /// The counts.
    pub few: TooFew,
    sentence: String,
    plainly: String,
}

impl Lack {
    /// As JSON has it, as `too few games to tell: 12 held turns in 1 fold (asked: 20 in 5)`.
    pub fn sentence(&self) -> &str {
        &self.sentence
    }

    /// For readers, as `too few games: 12 of the 20 held turns needed`.
    pub fn plainly(&self) -> &str {
        &self.plainly
    }
}

impl Serialize for Lack {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.sentence)
    }
}

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
    /// These counts by these names.
    pub fn lack(&self, few: TooFew) -> Lack {
        Lack {
            few,
            sentence: format!("too few games to tell: {}", self.reason(few)),
            plainly: self.plainly(few),
        }
    }

    /// The counts, as `12 held turns in 1 fold (asked: 20 in 5)`.
    fn reason(&self, few: TooFew) -> String {
        let noun = |group| match group {
            Group::Own => self.own,
            Group::Other => self.other,
        };
        let folds = |number: u32| number::counted(u64::from(number), "fold");
        match few {
            TooFew::Nothing => self.nothing.to_owned(),
            TooFew::Incomparable { have } => format!(
                "none of {} {}",
                number::counted(have, self.own),
                self.incomparable
            ),
            TooFew::Trials { of, have, need } => format!(
                "{} in {} (asked: {} in {})",
                number::counted(have.count, noun(of)),
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
                number::counted(count, noun(of)),
                self.outcome,
                folds(with)
            ),
        }
    }

    fn plainly(&self, few: TooFew) -> String {
        let noun = |group| match group {
            Group::Own => self.own,
            Group::Other => self.other,
        };
        let why = match few {
            TooFew::Trials { of, have, need } if have.count < need.count => format!(
                "{} of the {} {}s needed",
                number::count(have.count),
                need.count,
                noun(of)
            ),
            TooFew::Trials { of, have, need } => format!(
                "{}s in {} of the {} folds needed",
                noun(of),
                have.folds,
                need.folds
            ),
            TooFew::Outcomes { of, have, need } => format!(
                "{}s{} in {} of the {need} folds needed",
                noun(of),
                self.outcome,
                have.folds
            ),
            TooFew::Nothing | TooFew::Incomparable { .. } => self.reason(few),
        };
        format!("too few games: {why}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readers_see_what_is_needed() {
        let nouns = Nouns {
            nothing: "no piece is held",
            own: "held turn",
            other: "comparable free turn",
            incomparable: "has a comparable free piece",
            outcome: " end lost",
        };
        let size = |count, folds| Size { count, folds };
        for (few, words) in [
            (
                TooFew::Trials {
                    of: Group::Own,
                    have: size(12, 1),
                    need: size(20, 5),
                },
                "too few games: 12 of the 20 held turns needed",
            ),
            (
                TooFew::Trials {
                    of: Group::Other,
                    have: size(1_200, 3),
                    need: size(20, 5),
                },
                "too few games: comparable free turns in 3 of the 5 folds needed",
            ),
            (
                TooFew::Outcomes {
                    of: Group::Own,
                    have: size(4, 4),
                    need: 5,
                },
                "too few games: held turns end lost in 4 of the 5 folds needed",
            ),
            (TooFew::Nothing, "too few games: no piece is held"),
        ] {
            assert_eq!(nouns.plainly(few), words);
        }
    }
}
