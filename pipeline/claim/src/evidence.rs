//! The ladder of evidence for a claim: how each rung stands, and the highest that holds.

use hobble_conditions::terms::Kind;
use hobble_report::few::Lack;
use hobble_statistics::few::COVERED;
use hobble_statistics::{Estimate, Interval, TooFew};
use serde::Serialize;

use super::compare::Compared;
use super::decision::Decision;
use super::file::Claim;
use super::guards::Guards;
use super::outcome::{ClaimOutcome, Measure};
use super::side::{self, SideOutcome};
use super::twins::{self, Adjusted, Twins};

hobble_terms::words! {
    /// A rung of the ladder of evidence, the lowest first.
    Rung {
        /// More often than comparable free pieces.
        Association = "association",
        /// More often than a free piece of the same kind, owner and position.
        Twins = "twins",
        /// Where a restraining move was there: played against not played.
        Decision = "decision",
        /// Not explained by what should show nothing.
        Guards = "guards",
        /// Found on one half of the games, and held on the half that had not been looked at.
        Confirmation = "confirmation",
    }
}

/// What a rung found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finding {
    /// A ratio: 1 says that there is no difference.
    pub estimate: Estimate,
    /// Outcomes behind it, of the claim's pieces.
    pub events: u64,
    /// Whether it speaks for the claim: its interval lies above 1.
    pub holds: bool,
}

/// How a rung stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Standing {
    /// It was measured.
    Found(Finding),
    /// The games are too few.
    TooFew(TooFew),
    /// Too few sets of twins count.
    FewTwins {
        /// Sets that count.
        have: u64,
        /// Sets needed.
        need: u64,
    },
    /// Too many of the claim's pieces have nothing comparable.
    Uncovered {
        /// Share that has.
        share: f64,
    },
    /// What was measured of the side is not a ratio.
    Mean {
        /// The claim's pieces less the free ones; below 0 it is worse for the owner.
        difference: Estimate,
        /// Whether it speaks for the claim: its interval lies below 0.
        holds: bool,
    },
    /// A side has one piece of this kind: there are no twins.
    NoTwins,
    /// The claim is about the side, and twins share their side.
    SameSide,
    /// It is not measured for such a claim, or of such tables.
    NotMeasured,
    /// Nothing was locked away for it.
    NotAsked,
    /// The claim was changed after its half was opened.
    Changed,
}

impl Standing {
    /// Whether the rung speaks for the claim.
    pub const fn holds(&self) -> bool {
        match self {
            Standing::Found(Finding { holds, .. }) | Standing::Mean { holds, .. } => *holds,
            _ => false,
        }
    }

    /// Whether it was measured and does not.
    pub const fn fails(&self) -> bool {
        matches!(self, Standing::Found(_) | Standing::Mean { .. }) && !self.holds()
    }

    /// Whether it was measured, whatever it says.
    pub const fn is_measured(&self) -> bool {
        matches!(self, Standing::Found(_) | Standing::Mean { .. })
    }

    /// The ratio that was found, if any.
    pub const fn finding(&self) -> Option<&Finding> {
        match self {
            Standing::Found(finding) => Some(finding),
            _ => None,
        }
    }

    /// The standing in a word or two, for tables.
    pub const fn name(&self) -> &'static str {
        match self {
            Standing::Found(finding) if finding.holds => "holds",
            Standing::Found(_) => "does not hold",
            Standing::TooFew(_) | Standing::FewTwins { .. } => "too few games",
            Standing::Uncovered { .. } => "too little compared",
            Standing::Mean { holds: true, .. } => "holds",
            Standing::Mean { .. } => "does not hold",
            Standing::NoTwins => "no twins",
            Standing::SameSide => "twins share their side",
            Standing::NotMeasured => "not measured",
            Standing::NotAsked => "not asked",
            Standing::Changed => "void: the claim was changed",
        }
    }
}

/// What the games say to a claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finds {
    /// The claim holds, as far up as this rung.
    Holds {
        /// The highest rung that holds.
        rung: Rung,
    },
    /// The association does not hold.
    NotSo,
    /// The games cannot tell: too few, or too few compared.
    CannotTell,
}

/// A claim's ladder.
#[derive(Debug, Clone, PartialEq)]
pub struct Ladder {
    /// Each rung, the lowest first.
    pub rungs: [(Rung, Standing); Rung::COUNT],
}

impl Ladder {
    /// The ladder of a claim.
    pub fn of(
        claim: &Claim,
        own: Option<&Compared>,
        side: &[SideOutcome],
        (twins, decision, guards): (&[Twins], Option<&Decision>, &Guards),
    ) -> Ladder {
        let of_side = |rung| match rung {
            Rung::Association => of_side(side::own(claim, side)),
            Rung::Twins => Standing::SameSide,
            Rung::Decision => of_decision(claim, decision),
            Rung::Guards => of_side_guards(guards),
            Rung::Confirmation => of_confirmation(claim),
        };
        let standing = |rung| match rung {
            _ if claim.outcome.is_of_side() => of_side(rung),
            Rung::Association => association(own),
            Rung::Twins => of_twins(claim, twins),
            Rung::Decision => of_decision(claim, decision),
            Rung::Guards => of_guards(guards),
            Rung::Confirmation => of_confirmation(claim),
        };
        Ladder {
            rungs: Rung::ALL.map(|rung| (rung, standing(rung))),
        }
    }

    /// How a rung stands.
    pub fn at(&self, rung: Rung) -> &Standing {
        &self.rungs[rung as usize].1
    }

    /// The highest rung that holds, climbed from below: a rung that was measured and does not
    /// hold ends the climb, one that could not be measured is passed over.
    pub fn finds(&self) -> Finds {
        let (_, association) = &self.rungs[0];
        if association.fails() {
            return Finds::NotSo;
        }
        if !association.holds() {
            return Finds::CannotTell;
        }
        let climbed = self
            .rungs
            .iter()
            .take_while(|(_, standing)| !standing.fails());
        let rung = climbed
            .filter(|(_, standing)| standing.holds())
            .map(|(rung, _)| *rung)
            .last();
        Finds::Holds {
            rung: rung.unwrap_or(Rung::Association),
        }
    }
}

fn above_one(estimate: Estimate, events: u64) -> Option<Finding> {
    let interval = estimate.jackknife?;
    Some(Finding {
        estimate,
        events,
        holds: interval.low > 1.0,
    })
}

/// Why a figure says nothing, where it does: too few, or too few comparable.
fn wanting(too_few: Option<&Lack>, covered: Option<f64>) -> Option<Standing> {
    if let Some(lack) = too_few {
        return Some(Standing::TooFew(lack.few));
    }
    let share = covered.filter(|share| *share < COVERED)?;
    Some(Standing::Uncovered { share })
}

/// What became of the side, beside the sides of comparable free pieces.
fn of_side(own: Option<&SideOutcome>) -> Standing {
    let Some(own) = own else {
        return Standing::TooFew(TooFew::Nothing);
    };
    if let Some(wanting) = wanting(own.too_few.as_ref(), own.covered) {
        return wanting;
    }
    let too_few = Standing::TooFew(TooFew::Nothing);
    match own.ratio {
        Some(ratio) => above_one(ratio, own.held_events).map_or(too_few, Standing::Found),
        None => own
            .difference
            .jackknife
            .map_or(too_few, |interval| Standing::Mean {
                difference: own.difference,
                holds: interval.high < 0.0,
            }),
    }
}

fn association(own: Option<&Compared>) -> Standing {
    let Some(own) = own else {
        return Standing::TooFew(TooFew::Nothing);
    };
    if let Some(wanting) = wanting(own.too_few.as_ref(), own.covered) {
        return wanting;
    }
    above_one(own.ratio, own.compared_held_outcomes)
        .map_or(Standing::TooFew(TooFew::Nothing), Standing::Found)
}

/// Twins hold where they do both as they are and adjusted for what differs between them: a
/// figure that comes or goes with the adjustment is not one to build on.
fn of_twins(claim: &Claim, found: &[Twins]) -> Standing {
    if claim.kinds == [Kind::Queen] {
        return Standing::NoTwins;
    }
    let of = |adjusted| found.iter().find(|twins| twins.adjusted == adjusted);
    let above = |twins: &Twins| above_one(twins.odds_ratio, twins.counts.own_met);
    let unadjusted = of(Adjusted::Nothing).and_then(above);
    of(Adjusted::Place).map_or(
        Standing::FewTwins {
            have: 0,
            need: twins::LEAST,
        },
        |twins| {
            above(twins).map_or(
                Standing::FewTwins {
                    have: twins.counts.telling,
                    need: twins::LEAST,
                },
                |adjusted| {
                    Standing::Found(Finding {
                        holds: adjusted.holds && unadjusted.is_some_and(|found| found.holds),
                        ..adjusted
                    })
                },
            )
        },
    )
}

/// Played against not played. What the side on move scores is the other side of what its
/// opponent does.
fn of_decision(claim: &Claim, decision: Option<&Decision>) -> Standing {
    let Some(own) = decision.and_then(Decision::own) else {
        return Standing::NotMeasured;
    };
    if let Some(lack) = &own.too_few {
        return Standing::TooFew(lack.few);
    }
    if let Some(share) = own.uncovered() {
        return Standing::Uncovered { share };
    }
    let too_few = Standing::TooFew(TooFew::Nothing);
    if claim.outcome == ClaimOutcome::Score {
        let difference = own.owner_score_difference();
        return difference
            .jackknife
            .map_or(too_few, |interval| Standing::Mean {
                difference,
                holds: interval.high < 0.0,
            });
    }
    above_one(own.ratio, own.outcomes).map_or(too_few, Standing::Found)
}

fn of_guards(guards: &Guards) -> Standing {
    let others = &guards.others;
    if let Some(few) = others.few {
        return Standing::TooFew(few);
    }
    above_one(others.beyond, others.events[0]).map_or(Standing::TooFew(TooFew::Nothing), |found| {
        Standing::Found(Finding {
            holds: guards.hold(),
            ..found
        })
    })
}

/// What a milder restraint says of a claim about the side.
fn of_side_guards(guards: &Guards) -> Standing {
    let side = guards.side.as_ref();
    let Some(milder) = side.and_then(|side| side.placebo.as_ref()) else {
        return Standing::NotMeasured;
    };
    let too_few = Standing::TooFew(milder.few.unwrap_or(TooFew::Nothing));
    match milder.sides.outcome.measure() {
        _ if milder.few.is_some() || milder.beyond.jackknife.is_none() => too_few,
        Measure::Event => {
            above_one(milder.beyond, milder.sides.held_events).map_or(too_few, Standing::Found)
        }
        Measure::Mean { .. } => Standing::Mean {
            difference: milder.beyond,
            holds: milder.holds,
        },
    }
}

/// What the half of the games said that was locked when the claim was written.
fn of_confirmation(claim: &Claim) -> Standing {
    let Some(found) = &claim.confirmation else {
        return Standing::NotAsked;
    };
    if found.hash != claim.hash() {
        return Standing::Changed;
    }
    Standing::Found(Finding {
        estimate: Estimate {
            value: Some(found.ratio),
            jackknife: Some(Interval {
                low: found.low,
                high: found.high,
                se: None,
                df: None,
            }),
        },
        events: found.events,
        holds: found.holds(),
    })
}

impl Serialize for Ladder {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Step {
            rung: Rung,
            standing: &'static str,
            estimate: Option<Estimate>,
            events: Option<u64>,
        }
        serializer.collect_seq(self.rungs.iter().map(|(rung, standing)| Step {
            rung: *rung,
            standing: standing.name(),
            estimate: standing.finding().map(|finding| finding.estimate),
            events: standing.finding().map(|finding| finding.events),
        }))
    }
}
