//! Cells that are sorted by place, added up as they come.

use std::ops::AddAssign;

use serde::{Deserialize, Serialize};

/// Cells with their places, in runs.
///
/// Each run is sorted by place and more than twice as long as the next; a place may be in several.
/// Runs are merged as they grow, so that memory is read in its order: a hash table of as many
/// cells misses the processor's cache at nearly every row.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Runs<T>(Vec<Vec<(u64, T)>>);

impl<T> Default for Runs<T> {
    fn default() -> Runs<T> {
        Runs(Vec::new())
    }
}

impl<T: Copy + AddAssign> Runs<T> {
    /// Adds cells sorted by place, each place once.
    pub fn push(&mut self, mut run: Vec<(u64, T)>) {
        while let Some(last) = self.0.pop_if(|last| last.len() <= 2 * run.len()) {
            run = merged(&last, &run);
        }
        if !run.is_empty() {
            self.0.push(run);
        }
    }

    /// Adds the cells of another.
    pub fn add(&mut self, other: Runs<T>) {
        other.0.into_iter().for_each(|run| self.push(run));
    }

    /// All cells, sorted, each place once.
    pub fn cells(&self) -> Vec<(u64, T)> {
        let shortest_first = self.0.iter().rev();
        shortest_first.fold(Vec::new(), |sum, run| merged(&sum, run))
    }
}

/// Two sorted runs in one, the cells of a place added up.
fn merged<T: Copy + AddAssign>(one: &[(u64, T)], other: &[(u64, T)]) -> Vec<(u64, T)> {
    let mut sum = Vec::with_capacity(one.len() + other.len());
    let (mut one, mut other) = (one, other);
    while let ([first, behind @ ..], [second, others_behind @ ..]) = (one, other) {
        let mut next = if first.0 <= second.0 { *first } else { *second };
        if first.0 == second.0 {
            next.1 += second.1;
        }
        if first.0 <= second.0 {
            one = behind;
        }
        if second.0 <= first.0 {
            other = others_behind;
        }
        sum.push(next);
    }
    sum.extend_from_slice(one);
    sum.extend_from_slice(other);
    sum
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// However cells are cut into runs and runs into states, the sums are those of a map.
        #[test]
        fn sums_of_a_map(
            runs in prop::collection::vec(prop::collection::btree_map(0_u64..200, 1_u64..9, 0..40), 0..40),
            states in 1_usize..5,
        ) {
            let mut sums: BTreeMap<u64, u64> = BTreeMap::new();
            for (place, count) in runs.iter().flatten() {
                *sums.entry(*place).or_default() += count;
            }
            let mut whole = Runs::default();
            for runs in runs.chunks(runs.len().div_ceil(states).max(1)) {
                let mut state = Runs::default();
                for run in runs {
                    state.push(run.clone().into_iter().collect());
                }
                whole.add(state);
            }
            prop_assert_eq!(whole.cells(), sums.into_iter().collect::<Vec<_>>());
            let lengths: Vec<usize> = whole.0.iter().map(Vec::len).collect();
            prop_assert!(lengths.windows(2).all(|two| two[0] > 2 * two[1]), "{:?}", lengths);
        }
    }
}
