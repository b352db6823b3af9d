//! The rung *decision*: turns at which a move that restrains the claim's piece was there, those
//! at which it was played against those at which it was not (definitions, section 12).
//!
//! Whoever could have played it and did not counts as not having played it, whatever was played
//! instead. Rates of the turns without it are spread over the strata as the turns with it are
//! (Miettinen 1972). Intervals leave out one fold at a time, of games and of players; the wider
//! of the two is given, so that neither one game nor one player is taken for many.

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};

use super::compare::LEAST;
use super::decision_rows::{Chances, Done, Folds, Sums};
use super::file::Claim;
use super::outcome::ClaimOutcome;
use hobble_conditions::terms::{Kind, MovedBy};
use hobble_report::few::{Lack, Nouns};
use hobble_statistics::e_value::{self, EValue};
use hobble_statistics::few::{COVERED, FREE_ROWS};
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::{self, Cell, Figures, Table};
use hobble_statistics::{Bounds, Estimate, Interval, LEVEL, TooFew};
use hobble_terms::{landmark_k, words};

/// What a decision's comparison calls its trials and outcomes.
pub const NOUNS: Nouns<'static> = Nouns {
    nothing: "no such move was there",
    own: "played chance",
    other: "comparable other turn",
    incomparable: "has enough comparable turns",
    outcome: " with the outcome",
};

words! {
    /// What the turns with a restraining move are compared with.
    Against {
        /// Turns at which anything else was played.
        AnythingElse = "anything else played",
        /// Those at which another quiet move that gives nothing away was played.
        OtherQuiet = "another quiet move played",
    }
}

/// Why the rung is not measured for a claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unmeasured {
    /// The table of decisions was not written.
    NoTable,
    /// The claim is not about restrained pieces.
    Held,
    /// No such k is kept in the table for one of the claim's kinds.
    K,
    /// The claim asks what is not kept of chances.
    Filter,
    /// The outcome is not counted of chances.
    Outcome,
}

/// Turns with the chance, by what was played.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Decision {
    /// Turns in the sample at which a restraining move was there.
    pub rows: u64,
    /// Turns that they stand for.
    pub chances: u64,
    /// Rows at which it was played.
    pub played: u64,
    /// Their share.
    pub share: Option<f64>,
    /// Against anything else, and against other quiet moves.
    pub compared: Vec<PlayedAgainst>,
}

/// Played against not played.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlayedAgainst {
    /// What was played where it was not.
    pub against: Against,
    /// Rows at which it was played that have comparable ones.
    pub played: u64,
    /// Those with the outcome.
    pub outcomes: u64,
    /// Their share of all rows at which it was played.
    pub covered: Option<f64>,
    /// Comparable rows at which it was not.
    pub not_played: u64,
    /// Those with the outcome.
    pub not_played_outcomes: u64,
    /// Strata compared.
    pub strata: u64,
    /// Rate of the outcome where it was played.
    pub rate: Estimate,
    /// Where it was not, spread over the strata alike.
    pub not_played_rate: Estimate,
    /// The first divided by the second.
    pub ratio: Estimate,
    /// The first less the second.
    pub difference: Estimate,
    /// Guard: the same ratio for the loss of another piece of that side.
    pub others: Estimate,
    /// Mean score of the side on move where it was played.
    pub score: Estimate,
    /// Where it was not, spread over the strata alike.
    pub not_played_score: Estimate,
    /// The first less the second.
    pub score_difference: Estimate,
    /// What an unknown cause would have to do.
    #[serde(serialize_with = "as_limit")]
    pub e_value: Option<EValue>,
    /// Why there is no interval, where the counts are too small: in JSON a sentence.
    pub too_few: Option<Lack>,
}

fn as_limit<S: Serializer>(e_value: &Option<EValue>, out: S) -> Result<S::Ok, S::Error> {
    e_value
        .map(|EValue { estimate, limit }| [estimate, limit])
        .serialize(out)
}

/// Filters that chances are chosen by as well; a restrained piece is developed, and its cause
/// quiet.
const KEPT: [&str; 7] = [
    "Restrained",
    "Developed",
    "Cause",
    "Cause quiet",
    "Phase",
    "Owner's rating band",
    "Time class",
];

/// Why a claim has no such rung; `None` where it has one. `written`: the table is there.
pub fn unmeasured(claim: &Claim, written: bool) -> Option<Unmeasured> {
    let kept = |kind: &Kind| landmark_k(kind.role());
    let beyond = claim.kinds.iter().any(|kind| claim.k > kept(kind));
    let below = claim.kinds.iter().any(|kind| claim.k < kept(kind));
    let other_filter = claim.said().iter().any(|said| !KEPT.contains(&said.name));
    if !claim.is_of_restrained() {
        Some(Unmeasured::Held)
    } else if beyond || (below && claim.by != MovedBy::Any) {
        Some(Unmeasured::K)
    } else if other_filter || claim.turns > claim.first_turn() {
        Some(Unmeasured::Filter)
    } else if claim.outcome == ClaimOutcome::Evaluation {
        Some(Unmeasured::Outcome)
    } else {
        (!written).then_some(Unmeasured::NoTable)
    }
}

/// The figures of a claim, from what was counted of its chances; each row stands for `sample`
/// turns.
pub fn decision(chances: &Chances, sample: u64) -> Decision {
    let (mut rows, mut played) = (0, 0);
    for (done, _, _, sums) in chances.folded(Folds::Games) {
        rows += sums.turns;
        if done == Done::Played {
            played += sums.turns;
        }
    }
    Decision {
        rows,
        chances: rows * sample,
        played,
        share: (rows > 0).then(|| played as f64 / rows as f64),
        compared: Against::ALL
            .map(|against| played_against(chances, against))
            .to_vec(),
    }
}

/// What a table counts: trials and outcomes of a cell.
type Counted = fn(&Sums) -> (u64, u64);

const OUTCOME: Counted = |sums| (sums.turns, sums.outcomes);
const OTHERS: Counted = |sums| (sums.turns, sums.others);
const SCORE: Counted = |sums| (sums.scored, sums.half_points);

/// One comparison folded in one way.
struct Folded {
    tables: [Table; 3],
}

impl Folded {
    fn of(chances: &Chances, against: Against, folds: Folds) -> Folded {
        let is_other = |done| match against {
            Against::AnythingElse => done != Done::Played,
            Against::OtherQuiet => done == Done::OtherQuiet,
        };
        let mut sides: BTreeMap<u64, [BTreeMap<u8, Sums>; 2]> = BTreeMap::new();
        for (done, stratum, fold, sums) in chances.folded(folds) {
            let place = match done {
                Done::Played => 0,
                done if is_other(done) => 1,
                _ => continue,
            };
            let of_stratum = sides.entry(stratum).or_default();
            *of_stratum[place].entry(fold).or_default() += sums;
        }
        let counted = [OUTCOME, OTHERS, SCORE];
        let mut tables: [Table; 3] = Default::default();
        // A stratum in which it was never played bears on no figure.
        let of_played = sides.values().filter(|[played, _]| !played.is_empty());
        for (number, [played, other]) in of_played.enumerate() {
            let rows: u64 = other.values().map(|sums| sums.turns).sum();
            let enough = rows >= FREE_ROWS;
            for (is_played, side) in [(true, played), (false, other)] {
                if !is_played && !enough {
                    continue;
                }
                for (&fold, sums) in side {
                    for (table, counted) in tables.iter_mut().zip(counted) {
                        let (turns, outcomes) = counted(sums);
                        let cell = Cell {
                            turns,
                            outcomes,
                            over: 0,
                        };
                        table.add(number, fold.into(), is_played, cell);
                    }
                }
            }
        }
        Folded { tables }
    }
}

/// A table with the figures of the whole and with one fold left out each.
struct Measured {
    whole: Figures,
    without_one: Vec<Figures>,
    folds: u32,
    few: Option<TooFew>,
}

impl Measured {
    fn of(table: &Table) -> Measured {
        let whole = table.figures();
        let (own, other) = table.spread(true);
        Measured {
            few: LEAST.check(&whole, own, other),
            whole,
            without_one: table.figures_without_one(|_| true),
            folds: own.folds.min(other.folds),
        }
    }

    fn estimate(&self, scale: Scale, of: fn(&Figures) -> f64) -> Estimate {
        let whole = (&self.whole, self.without_one.as_slice());
        standardise::estimate(scale, of, whole, self.folds, LEVEL, self.few.is_none())
    }
}

/// The estimate with the wider of two intervals.
fn wider(one: Estimate, other: Estimate) -> Estimate {
    let width = |estimate: &Estimate| {
        let interval = estimate.jackknife;
        interval.map_or(-1.0, |interval| interval.high - interval.low)
    };
    if width(&other) > width(&one) {
        other
    } else {
        one
    }
}

fn played_against(chances: &Chances, against: Against) -> PlayedAgainst {
    let [games, players] = Folds::ALL.map(|folds| {
        let folded = Folded::of(chances, against, folds);
        folded.tables.each_ref().map(Measured::of)
    });
    let estimate = |place: usize, scale: Scale, of: fn(&Figures) -> f64| {
        wider(
            games[place].estimate(scale, of),
            players[place].estimate(scale, of),
        )
    };
    let half = |estimate: Estimate| Estimate {
        value: estimate.value.map(|value| value / 2.0),
        jackknife: estimate.jackknife.map(|interval| Interval {
            low: interval.low / 2.0,
            high: interval.high / 2.0,
            se: interval.se.map(|se| se / 2.0),
            ..interval
        }),
    };
    let whole = &games[0].whole;
    let (own, other) = (whole.compared.held, whole.compared.free);
    let all = own.turns + whole.left_out.turns;
    let ratio = estimate(0, Scale::Log, Figures::ratio);
    PlayedAgainst {
        against,
        played: own.turns,
        outcomes: own.outcomes,
        covered: (all > 0).then(|| own.turns as f64 / all as f64),
        not_played: other.turns,
        not_played_outcomes: other.outcomes,
        strata: whole.strata,
        rate: estimate(0, Scale::Logit, Figures::held_rate),
        not_played_rate: estimate(0, Scale::Logit, Figures::free_rate),
        ratio,
        difference: estimate(0, Scale::Plain, Figures::difference),
        others: estimate(1, Scale::Log, Figures::ratio),
        score: half(estimate(2, Scale::Plain, Figures::held_rate)),
        not_played_score: half(estimate(2, Scale::Plain, Figures::free_rate)),
        score_difference: half(estimate(2, Scale::Plain, Figures::difference)),
        e_value: e_of(&ratio),
        too_few: games[0].few.map(|few| NOUNS.lack(few)),
    }
}

fn e_of(ratio: &Estimate) -> Option<EValue> {
    let Interval { low, high, .. } = ratio.jackknife?;
    e_value::of_interval(ratio.value?, Bounds { low, high })
}

impl Decision {
    /// The comparison that the rung stands on.
    pub fn own(&self) -> Option<&PlayedAgainst> {
        let mut compared = self.compared.iter();
        compared.find(|one| one.against == Against::AnythingElse)
    }
}

impl PlayedAgainst {
    /// The difference of the scores as the owner of the piece sees it.
    pub fn owner_score_difference(&self) -> Estimate {
        let Estimate { value, jackknife } = self.score_difference;
        Estimate {
            value: value.map(|value| -value),
            jackknife: jackknife.map(|interval| Interval {
                low: -interval.high,
                high: -interval.low,
                ..interval
            }),
        }
    }

    /// Share of the turns at which it was played that has comparable ones, where that is too
    /// small for a verdict.
    pub fn uncovered(&self) -> Option<f64> {
        self.covered.filter(|share| *share < COVERED)
    }
}
