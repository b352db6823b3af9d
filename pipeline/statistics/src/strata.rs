//! Strata of which some change, and the figures of all of them: where a fold of games is left out,
//! only the strata that it has rows of are worked out again. Sums of whole numbers are kept; those
//! of fractions are added up anew in the order of the strata, since their last digit depends on it.

use crate::cell::Sides;
use crate::figures::Figures;

/// The strata of a table, and what each adds to the figures.
pub(crate) struct Strata {
    strata: Vec<Sides>,
    /// Trials and events expected of each stratum; 0 where it is not compared.
    expected: Vec<[f64; 2]>,
    sum: Figures,
}

impl Strata {
    /// These strata.
    pub fn of(strata: &[Sides]) -> Strata {
        let mut all = Strata {
            strata: vec![Sides::default(); strata.len()],
            expected: vec![[0.0; 2]; strata.len()],
            sum: Figures::default(),
        };
        for (stratum, sides) in strata.iter().enumerate() {
            all.put(stratum, *sides);
        }
        all
    }

    /// Puts other counts in the place of those of a stratum.
    pub fn put(&mut self, stratum: usize, sides: Sides) {
        let sum = &mut self.sum;
        let before = std::mem::replace(&mut self.strata[stratum], sides);
        sum.raw.held -= before.held;
        sum.raw.free -= before.free;
        if before.comparable() {
            sum.strata -= 1;
            sum.compared.held -= before.held;
            sum.compared.free -= before.free;
        } else if before.held.turns > 0 {
            sum.strata_left_out -= 1;
            sum.left_out -= before.held;
        }
        sum.raw.held += sides.held;
        sum.raw.free += sides.free;
        let mut expected = [0.0; 2];
        if sides.comparable() {
            sum.strata += 1;
            sum.compared.held += sides.held;
            sum.compared.free += sides.free;
            let turns = sides.held.turns as f64;
            expected = [turns, turns * sides.free.rate()];
        } else if sides.held.turns > 0 {
            sum.strata_left_out += 1;
            sum.left_out += sides.held;
        }
        self.expected[stratum] = expected;
    }

    /// The figures of all strata.
    pub fn figures(&self) -> Figures {
        let mut figures = self.sum;
        for [trials, events] in &self.expected {
            figures.expected.add(*trials, *events);
        }
        figures
    }
}
