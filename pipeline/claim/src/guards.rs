//! Guards: two comparisons that should show nothing if the restraint itself is what counts,
//! and how strong an unknown cause would have to be to explain the association away.
//!
//! *Negative control outcome*: the loss of another piece of the same side, between the same
//! turns. The restraint of this piece has little to do with it, the position has everything.
//! *Placebo exposure*: a move of the same sort took squares from the piece, but left it more
//! than k. A guard holds if the piece's own ratio stays above the guard's: the interval of the
//! quotient of both ratios lies above 1.
//!
//! Source: M. Lipsitch, E. Tchetgen Tchetgen, T. Cohen, "Negative controls: a tool for detecting
//! confounding and bias in observational studies", Epidemiology 21(3) (2010), 383–388 (as the
//! documentation of OHDSI's CommonEvidenceModel cites it).

use serde::Serialize;

use super::cells::Cells;
use super::choice::{Choice, Event, Group, Varied};
use super::compare::{Paired, Pairing};
use super::file::Claim;
pub use super::guard_figures::has_placebo;
use super::guard_figures::{as_pair, beyond, e_of};
use super::side_guard::{self, SideGuards};
use hobble_statistics::e_value::EValue;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::Figures;
use hobble_statistics::{Estimate, TooFew};

/// What a guard shows beside the association.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Guard {
    /// The guard's own ratio.
    pub ratio: Estimate,
    /// The association's ratio divided by it.
    pub beyond: Estimate,
    /// Events of the group looked at, and of the free ones, by the turns they stand for.
    pub events: [u64; 2],
    /// Whether the association's ratio stays above it.
    pub holds: bool,
    /// Why there is no interval.
    #[serde(skip)]
    pub few: Option<TooFew>,
}

/// The guards of an association.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Guards {
    /// Another knight, bishop, rook or queen of the side lost.
    pub others: Guard,
    /// Squares taken, but not so many; `null` where a claim has no such pieces.
    pub placebo: Option<Guard>,
    /// What an unknown cause would have to do.
    #[serde(serialize_with = "as_pair")]
    pub e_value: Option<EValue>,
    /// Those of a claim about the side, for which the guards above say what becomes of the piece
    /// alone; `null` for a claim about the piece.
    pub side: Option<SideGuards>,
}

impl Guards {
    /// Whether each guard that could be asked holds, the side's other pieces first of all.
    pub fn hold(&self) -> bool {
        let placebo = self.placebo.as_ref().filter(|guard| guard.few.is_none());
        self.others.holds && placebo.is_none_or(|guard| guard.holds)
    }
}

/// The guards of the claim's own comparison, whose ratio is `ratio`; `side` are the counts of the
/// sides.
pub fn guards(claim: &Claim, (cells, side): (&Cells, &Cells), ratio: &Estimate) -> Guards {
    let own = Pairing::of(claim, (Varied::Within, Choice::of(claim)));
    let count = |pairing: Pairing| pairing.count(claim, cells);
    let (whole, (others, placebo)) = rayon::join(
        || count(own),
        || {
            rayon::join(
                || {
                    count(Pairing {
                        event: Event::OthersLost(claim.within),
                        ..own
                    })
                },
                || {
                    has_placebo(claim).then(|| {
                        count(Pairing {
                            own: Group::Placebo,
                            ..own
                        })
                    })
                },
            )
        },
    );
    Guards {
        others: beside(&whole, &others),
        placebo: placebo.map(|placebo| beside(&whole, &placebo)),
        e_value: e_of(ratio),
        side: side_guard::of(claim, side),
    }
}

/// A guard beside the claim's own pairing.
pub fn beside(own: &Paired, guard: &Paired) -> Guard {
    let (few, [_, folds]) = guard.few();
    let ratio = guard.estimate(Scale::Log, Figures::ratio, (few.is_none(), folds));
    let beyond = beyond(Scale::Log, Figures::ratio, own, guard);
    Guard {
        holds: beyond.jackknife.is_some_and(|interval| interval.low > 1.0),
        ratio,
        beyond,
        events: guard.events(),
        few,
    }
}
