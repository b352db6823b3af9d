//! The ladder in plain words: a sentence a rung, and the verdict, never more than the
//! intervals allow.

use std::fmt;

use serde::{Serialize, Serializer};

use super::compare::{Compared, NOUNS};
use super::decision::{Decision, Unmeasured};
use super::decision_words;
use super::evidence::{Finds, Ladder, Rung, Standing};
use super::file::Claim;
use super::guards::{Guard, Guards};
use super::side::SideOutcome;
use super::side_words;
use super::times_words::{ratio, times};
use super::twins::{Adjusted, Twins};
use hobble_conditions::words;
use hobble_statistics::few::COVERED;
use hobble_statistics::{Estimate, Interval};

/// What the games say to a claim, and the sentences that say it. Serialised it is the
/// sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// What was found.
    pub finds: Finds,
    words: String,
}

impl Verdict {
    /// A finding, and the sentences that say it.
    pub fn new(finds: Finds, words: impl Into<String>) -> Verdict {
        Verdict {
            finds,
            words: words.into(),
        }
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

/// All that the words are made from.
#[derive(Clone, Copy)]
pub struct Found<'a> {
    /// The claim.
    pub claim: &'a Claim,
    /// Its ladder.
    pub ladder: &'a Ladder,
    /// The comparison at its own horizon.
    pub own: Option<&'a Compared>,
    /// What became of the side, where the claim is about it.
    pub side: Option<&'a SideOutcome>,
    /// Its twins, with more and less adjusted for.
    pub twins: &'a [Twins],
    /// Its chances, or why they are not given.
    pub decision: Result<&'a Decision, Unmeasured>,
    /// Its guards.
    pub guards: &'a Guards,
}

impl Found<'_> {
    /// The verdict.
    pub fn verdict(self) -> Verdict {
        let finds = self.ladder.finds();
        let association = self.association();
        let words = match finds {
            Finds::Holds { rung } => {
                let decided =
                    decision_words::in_verdict(self.claim, self.ladder.at(Rung::Decision));
                let confirmed = if rung == Rung::Confirmation {
                    "Games that had been locked away confirm it."
                } else {
                    ""
                };
                let said = [
                    association,
                    self.reach(),
                    decided,
                    confirmed.to_owned(),
                    self.not_proof().to_owned(),
                ];
                let said: Vec<String> = said.into_iter().filter(|one| !one.is_empty()).collect();
                said.join(" ")
            }
            Finds::NotSo => format!("Not what these games say. {association}"),
            Finds::CannotTell => association,
        };
        Verdict::new(finds, words)
    }

    /// The sentence of a rung.
    pub fn sentence(self, rung: Rung) -> String {
        match rung {
            Rung::Association => self.association(),
            Rung::Twins => self.of_twins(),
            Rung::Decision => match self.decision {
                Ok(decision) => {
                    decision_words::sentence(self.claim, decision, self.ladder.at(rung))
                }
                Err(why) => decision_words::unmeasured(why).to_owned(),
            },
            Rung::Guards => self.of_guards(),
            Rung::Confirmation => self.of_confirmation(),
        }
    }

    fn association(self) -> String {
        if let Some(side) = self
            .side
            .filter(|_| self.ladder.at(Rung::Association).is_measured())
        {
            return side_words::sentence(&self.claim.in_words(), side);
        }
        let (Standing::Found(_), Some(own)) = (self.ladder.at(Rung::Association), self.own) else {
            return self.not_measured();
        };
        let who = self.claim.in_words();
        let rate = |estimate: Estimate| estimate.value.map_or_else(String::new, words::percent);
        let interval = own.ratio.jackknife;
        let how = match interval {
            Some(interval) if interval.low > 1.0 => "more often than",
            Some(interval) if interval.high < 1.0 => "less often than",
            _ => "about as often as",
        };
        let chance = if how.starts_with("about") {
            ", which may be chance"
        } else {
            ""
        };
        format!(
            "{} were {} {how} comparable free ones within {} moves: {} against {}, {}{chance}.",
            words::capital(&who),
            words::happened(self.claim.of_piece()),
            self.claim.within,
            rate(own.held_rate),
            rate(own.free_rate),
            times(own.ratio),
        )
    }

    /// Why there is no association to report.
    fn not_measured(self) -> String {
        match self.ladder.at(Rung::Association) {
            Standing::Uncovered { share } => format!(
                "These games cannot tell: only {} of such pieces have comparable free ones ({} needed).",
                words::percent(*share),
                words::percent(COVERED)
            ),
            Standing::TooFew(few) => words::capital(&format!("{}.", NOUNS.lack(*few).plainly())),
            _ => "These games cannot tell.".to_owned(),
        }
    }

    fn of_twins(self) -> String {
        let (kind, state) = (self.kind(), self.claim.state());
        let happened = words::happened(self.claim.of_piece());
        match self.ladder.at(Rung::Twins) {
            Standing::NoTwins => {
                "A side has one queen, so there are no two in one position to compare.".to_owned()
            }
            Standing::SameSide => {
                "Two pieces of one side share what becomes of it, so they cannot be compared."
                    .to_owned()
            }
            Standing::FewTwins { have, need } => format!(
                "Two {kind}s of one side in the same position, one {state} and one free: too few such positions in which just one was {happened} ({have} of the {need} needed)."
            ),
            Standing::Found(found) => {
                let tail = match found.estimate.jackknife {
                    _ if found.holds => String::new(),
                    Some(Interval { low, .. }) if low > 1.0 => format!(
                        "; but {} if nothing is allowed for in which the two differ: too little to build on",
                        self.unadjusted()
                    ),
                    Some(Interval { high, .. }) if high < 1.0 => {
                        ": less often, not more".to_owned()
                    }
                    _ => ": no difference that these games can show".to_owned(),
                };
                format!(
                    "Of two {kind}s of one side in the same position, one {state} and one free, the {state} one was {happened} {}{tail}.",
                    times(found.estimate)
                )
            }
            _ => "Not known.".to_owned(),
        }
    }

    /// The twins as they are.
    fn unadjusted(self) -> String {
        let found = self
            .twins
            .iter()
            .find(|twins| twins.adjusted == Adjusted::Nothing);
        found.map_or_else(String::new, |twins| ratio(twins.odds_ratio, "times"))
    }

    fn of_guards(self) -> String {
        let Guards {
            others, placebo, ..
        } = self.guards;
        if self.claim.outcome.is_of_side() {
            return side_words::of_guard(self.claim, self.guards.side.as_ref());
        }
        if others.few.is_some() || others.ratio.jackknife.is_none() {
            return "Too few games to say whether the position as a whole explains it.".to_owned();
        }
        let mut words = format!(
            "The other pieces of that side were lost {} as well; {}.",
            times(others.ratio),
            self.beyond(others),
        );
        match placebo {
            Some(placebo) if placebo.few.is_none() => {
                words.push_str(&format!(
                    " After a quiet move that took squares from the {} but left it {} or more, it was {} {}; {}.",
                    self.kind(),
                    words::counted(u64::from(self.claim.k) + 1, "safe square"),
                    words::happened(self.claim.of_piece()),
                    times(placebo.ratio),
                    self.beyond(placebo),
                ));
            }
            Some(_) => words.push_str(" Too few games tell what a move does that takes squares but leaves the piece enough."),
            None => {}
        }
        words
    }

    fn of_confirmation(self) -> String {
        let standing = self.ladder.at(Rung::Confirmation);
        if matches!(standing, Standing::Changed) {
            return "Void: the claim was changed after the games were asked that had been locked for it.".to_owned();
        }
        let (Some(finding), Some(found)) = (standing.finding(), &self.claim.confirmation) else {
            return "Not asked: all of these games were known when the claim was written, so none of them can confirm it.".to_owned();
        };
        let says = if finding.holds {
            "which confirms it"
        } else {
            "which does not confirm it"
        };
        format!(
            "It was found among {} claims tried on one half of the players, and asked of {} games of the other half, with {} others: {}, {says}.{}",
            words::count(found.tried),
            words::count(found.games),
            words::count(found.opened.saturating_sub(1)),
            times(finding.estimate),
            match found.opening {
                0 | 1 => String::new(),
                opening => format!(
                    " That half had been opened {} before, so it was no longer unseen.",
                    words::counted(u64::from(opening - 1), "time")
                ),
            }
        )
    }

    /// What is left of the association beside a guard.
    fn beyond(self, guard: &Guard) -> String {
        let state = self.claim.state();
        let (still, tail) = match guard.beyond.jackknife {
            _ if guard.holds => ("still ", ""),
            Some(Interval { high, .. }) if high < 1.0 => ("", ", so less"),
            _ => ("", ", which may be chance"),
        };
        format!(
            "the {state} piece\u{2019}s own risk is {still}{}{tail}",
            ratio(guard.beyond, "times that")
        )
    }

    /// How far up the ladder the claim holds.
    fn reach(self) -> String {
        let twins = self.ladder.at(Rung::Twins);
        let guards = self.ladder.at(Rung::Guards);
        let first = match twins {
            Standing::Found(found) if found.holds => format!(
                "It holds between two {}s of one side in the same position too: {}.",
                self.kind(),
                times(found.estimate)
            ),
            Standing::Found(found) => return self.unlike_twins(found.estimate),
            Standing::NoTwins => {
                "A side has one queen, so no two in one position can be compared.".to_owned()
            }
            Standing::SameSide => {
                "Positions alike in what was matched may still differ in much else.".to_owned()
            }
            _ => format!(
                "Too few positions hold two {}s of one side, one {} and one free, to tell more.",
                self.kind(),
                self.claim.state()
            ),
        };
        let second = if self.claim.outcome.is_of_side() {
            side_words::guard_in_verdict(self.claim, guards)
        } else if guards.holds() {
            "The state of the whole side does not explain it.".to_owned()
        } else if guards.fails() && !self.guards.others.holds {
            "But the other pieces of that side are lost more often by about as much: it may be the state of the whole side.".to_owned()
        } else if guards.fails() {
            format!(
                "But these games do not show that it is worse than a quiet move that took squares from the {} and left it enough: the last squares may not be what counts.",
                self.kind()
            )
        } else {
            String::new()
        };
        format!("{first} {second}").trim().to_owned()
    }

    /// What twins say where they do not confirm the claim, both ways of asking them.
    fn unlike_twins(self, adjusted: Estimate) -> String {
        let is_above = |estimate: Estimate| estimate.jackknife.is_some_and(|it| it.low > 1.0);
        let unadjusted = self
            .twins
            .iter()
            .find(|it| it.adjusted == Adjusted::Nothing);
        let either = is_above(adjusted) || unadjusted.is_some_and(|it| is_above(it.odds_ratio));
        let says = if either {
            "it is not sure"
        } else {
            "the difference may be chance"
        };
        format!(
            "But between two {0}s of one side in the same position {says}: the {1} one was {2} {3} if what else differs between the two is allowed for, {4} if it is not. So the position may be what costs the piece.",
            self.kind(),
            self.claim.state(),
            words::happened(self.claim.of_piece()),
            times(adjusted),
            self.unadjusted()
        )
    }

    fn not_proof(self) -> &'static str {
        "All this is what was found in played games; it does not prove the cause."
    }

    /// The kind in the singular; `piece` where there are several.
    fn kind(self) -> String {
        self.claim.kind()
    }
}
