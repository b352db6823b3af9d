//! What is counted of sides, and the events and trials of each measure that follow from it.

use serde::{Deserialize, Serialize};

use super::counts::KindOrAll;
use super::measures::Measure;
use hobble_conditions::terms::Kind;

/// Counts of one sort: of all kinds together, then by kind.
const KINDS_AND_ALL: usize = 1 + Kind::COUNT;

/// Number of events and trials: one a measure of all kinds together, then those by kind.
pub const PLACES: usize = Measure::COUNT * KINDS_AND_ALL;

/// Events and trials by measure and kind, at their [places](place_of).
#[derive(Debug, Clone, Copy)]
pub struct SideCounts {
    /// Events; 0 where there are no trials.
    pub events: [u32; PLACES],
    /// Trials.
    pub trials: [u32; PLACES],
}

impl SideCounts {
    /// Nothing counted.
    pub const NONE: SideCounts = SideCounts {
        events: [0; PLACES],
        trials: [0; PLACES],
    };

    /// Events and trials of all measures, of all kinds together.
    pub fn of_all_kinds(&self) -> WholeCounts {
        Measure::ALL.map(|measure| {
            let at = place_of(measure, None);
            (self.events[at].into(), self.trials[at].into())
        })
    }

    /// Both together.
    pub fn plus(&self, other: &SideCounts) -> SideCounts {
        let sum = |one: &[u32; PLACES], other: &[u32; PLACES]| {
            std::array::from_fn(|at| one[at].saturating_add(other[at]))
        };
        SideCounts {
            events: sum(&self.events, &other.events),
            trials: sum(&self.trials, &other.trials),
        }
    }
}

/// A number of all kinds together, then of each.
type OfKinds = [u32; KINDS_AND_ALL];

/// Those of all kinds together, by measure.
pub type WholeCounts = [(u64, u64); Measure::COUNT];

/// Where a measure stands among events and trials, of all kinds or of one.
pub const fn place_of(measure: Measure, kind: KindOrAll) -> usize {
    measure as usize * KINDS_AND_ALL + place_of_kind(kind)
}

const fn place_of_kind(kind: KindOrAll) -> usize {
    match kind {
        None => 0,
        Some(kind) => 1 + kind as usize,
    }
}

/// What is counted by kind. Counts that the tables do not give are 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Count {
    /// Spells.
    Spells,
    /// Turns in them.
    SpellTurns,
    /// Spells that ended with the piece freed.
    Freed,
    /// Spells that ended with the piece lost.
    Lost,
    /// Restraints.
    Restraints,
    /// Those after which the piece is soon lost.
    RestraintsLost,
    /// Chances in the sample.
    Chances,
    /// Those taken.
    ChancesTaken,
    /// What a random move would take, in thousandths of a chance.
    AtRandom,
    /// Moves.
    Moves,
    /// Squares they took.
    SquaresTaken,
    /// Held turns, beside the turns of the sides.
    HeldOfSides,
    /// Turns of the pieces that are looked at.
    PieceTurns,
    /// Those at which the piece is held.
    Held,
    /// Held turns of which it is known whether the piece is soon lost.
    HeldWithFate,
    /// Those after which it is.
    HeldLost,
}

/// Number of sorts of counts.
const COUNTS: usize = Count::HeldLost as usize + 1;

/// Counts of sides added up. They are small numbers kept for many players: an addition says where
/// one is not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sums {
    /// Sides.
    pub sides: u32,
    /// Turns of the sides.
    pub turns: u32,
    by_kind: [OfKinds; COUNTS],
}

impl Sums {
    /// Nothing counted.
    pub const NONE: Sums = Sums {
        sides: 0,
        turns: 0,
        by_kind: [[0; KINDS_AND_ALL]; COUNTS],
    };

    /// A count of one side, of all kinds or of one.
    pub fn count(&mut self, count: Count, kind: KindOrAll) -> &mut u32 {
        &mut self.by_kind[count as usize][place_of_kind(kind)]
    }

    /// Adds other sums. Returns whether all counts could be held.
    #[must_use]
    pub fn add(&mut self, other: &Sums) -> bool {
        let mut carried = false;
        let mut add = |sum: &mut u32, count: u32| {
            let (added, carry) = sum.overflowing_add(count);
            *sum = added;
            carried |= carry;
        };
        add(&mut self.sides, other.sides);
        add(&mut self.turns, other.turns);
        let sums = self.by_kind.as_flattened_mut();
        for (sum, &count) in sums.iter_mut().zip(other.by_kind.as_flattened()) {
            add(sum, count);
        }
        !carried
    }

    /// Events and trials of a measure; no trials where the tables do not give it.
    pub fn of(&self, measure: Measure, kind: KindOrAll) -> (u64, u64) {
        let (events, trials) = Number::of(measure);
        let at = place_of_kind(kind);
        let trials = u64::from(self.number(trials, at)) * measure.per();
        (self.number(events, at).into(), trials)
    }

    fn number(&self, number: Number, kind: usize) -> u32 {
        match number {
            Number::Of(count) => self.by_kind[count as usize][kind],
            Number::Sides => self.sides,
            Number::Turns => self.turns,
            Number::None => 0,
        }
    }

    /// Events and trials of all measures, by kind.
    pub fn side_counts(&self) -> SideCounts {
        let mut counts = SideCounts::NONE;
        for measure in Measure::ALL {
            let (events, trials) = Number::of(measure);
            let first = place_of(measure, None);
            for kind in 0..KINDS_AND_ALL {
                let tried = self.number(trials, kind);
                if tried > 0 {
                    counts.events[first + kind] = self.number(events, kind);
                    counts.trials[first + kind] = tried.saturating_mul(measure.per() as u32);
                }
            }
        }
        counts
    }
}

/// Which number of a side's sums.
#[derive(Debug, Clone, Copy)]
enum Number {
    /// A count, by kind.
    Of(Count),
    Sides,
    Turns,
    None,
}

impl Number {
    /// The events and the trials of a measure; the trials are still to be multiplied by [`Measure::per`].
    fn of(measure: Measure) -> (Number, Number) {
        use Number::{Of, Sides, Turns};
        match measure {
            Measure::SpellsPerGame => (Of(Count::Spells), Sides),
            Measure::RestraintsPerGame => (Of(Count::Restraints), Sides),
            Measure::RestraintsLost => (Of(Count::RestraintsLost), Of(Count::Restraints)),
            Measure::SquaresTakenPerMove => (Of(Count::SquaresTaken), Of(Count::Moves)),
            Measure::HeldShare => (Of(Count::Held), Of(Count::PieceTurns)),
            Measure::HeldTurnsPerTurn => (Of(Count::HeldOfSides), Turns),
            Measure::LossRisk => (Of(Count::HeldLost), Of(Count::HeldWithFate)),
            Measure::LossRiskStandardised => (Number::None, Number::None),
            Measure::ReleaseRate => (Of(Count::Freed), Of(Count::SpellTurns)),
            Measure::SpellsLost => (Of(Count::Lost), Of(Count::Spells)),
            // Chances in the sample: the scale does not matter to a standard error on the logarithm.
            Measure::ChancesPerGame => (Of(Count::Chances), Sides),
            Measure::ChancesTaken => (Of(Count::ChancesTaken), Of(Count::Chances)),
            Measure::ChancesAtRandom => (Of(Count::AtRandom), Of(Count::Chances)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_all_different() {
        let all_and_kinds = || std::iter::once(None).chain(Kind::ALL.into_iter().map(Some));
        let places = Measure::ALL
            .into_iter()
            .flat_map(|one| all_and_kinds().map(move |kind| place_of(one, kind)));
        let mut places: Vec<usize> = places.collect();
        places.sort_unstable();
        assert_eq!(places, (0..PLACES).collect::<Vec<_>>());
    }

    #[test]
    fn a_sum_too_large_is_said() {
        let mut sums = Sums::NONE;
        *sums.count(Count::Held, Some(Kind::Rook)) = u32::MAX - 1;
        sums.sides = 1;
        let mut one = Sums::NONE;
        *one.count(Count::Held, Some(Kind::Rook)) = 1;
        assert!(sums.add(&one));
        assert!(!sums.add(&one));
    }

    #[test]
    fn measures_are_quotients_of_counts() {
        let mut sums = Sums::NONE;
        (sums.sides, sums.turns) = (2, 80);
        *sums.count(Count::Spells, Some(Kind::Queen)) = 7;
        *sums.count(Count::HeldOfSides, None) = 30;
        let queen = Some(Kind::Queen);
        assert_eq!(sums.of(Measure::SpellsPerGame, queen), (7, 2));
        assert_eq!(sums.of(Measure::SpellsPerGame, None), (0, 2));
        assert_eq!(sums.of(Measure::HeldTurnsPerTurn, None), (30, 80));
        // Not known whether the pieces were lost.
        assert_eq!(sums.of(Measure::LossRisk, None), (0, 0));
    }
}
