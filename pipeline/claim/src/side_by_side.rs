//! Two groups side by side: the counts of both in each stratum that the first has, by fold.

use hobble_terms::fold::FOLDS;
use rustc_hash::FxHashMap;

use super::count::Count;
use super::stratum::Stratum;

/// Counts of one stratum and fold: of all pieces, and of those to whom the event came.
pub type Counted = (Stratum, u8, [Count; 2]);

/// Both groups in a stratum and fold, the one looked at first.
pub type Both = [[Count; 2]; 2];

/// Two groups, stratum by stratum.
pub struct SideBySide(Vec<Both>);

impl SideBySide {
    /// Puts the counts of two groups together. Strata without any of the first are left out.
    pub fn of(own: &[Counted], free: &[Counted]) -> SideBySide {
        let mut strata: Vec<Stratum> = own.iter().map(|counted| counted.0).collect();
        strata.sort_unstable();
        strata.dedup();
        let mut both = vec![Both::default(); strata.len() * FOLDS];
        let numbers: FxHashMap<Stratum, usize> = strata.into_iter().zip(0..).collect();
        for (side, counted) in [own, free].into_iter().enumerate() {
            for (stratum, fold, counts) in counted {
                if let Some(number) = numbers.get(stratum) {
                    let at = number * FOLDS + usize::from(*fold) % FOLDS;
                    add(&mut both[at][side], *counts);
                }
            }
        }
        SideBySide(both)
    }

    /// Takes the first group out of the second, of which it is a part.
    pub fn take_own_from_free(&mut self) {
        for [own, free] in &mut self.0 {
            free[0] -= own[0];
            free[1] -= own[1];
        }
    }

    /// The strata in order, each fold by fold.
    pub fn strata(&self) -> impl Iterator<Item = &[Both]> {
        self.0.chunks_exact(FOLDS)
    }
}

/// Adds all and those with the event.
pub fn add(sum: &mut [Count; 2], counts: [Count; 2]) {
    sum[0] += counts[0];
    sum[1] += counts[1];
}
