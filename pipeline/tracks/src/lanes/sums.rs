//! Sums over the units of a side.

use shakmaty::Role::{King, Knight, Pawn};

use super::sheet::{BEFORE, Sheet};
use super::vector::{Lanes, Vector};

/// Sums of one side.
struct Totals<S: Lanes> {
    taken: Vector<S>,
    given: Vector<S>,
    reach: Vector<S>,
}

/// Counts the safe squares of all units of a side, and adds up what changed since the
/// position before, for the lanes from `first` on.
#[inline(always)]
pub fn add_up<S: Lanes>(simd: S, sheet: &mut Sheet, side: usize, first: usize) {
    let zero = Vector::zero(simd);
    let mut totals = Totals {
        taken: zero,
        given: zero,
        reach: zero,
    };
    for kind in Knight as usize - 1..King as usize {
        let mut of_kind = zero;
        for nth in 0..sheet.lists[side][kind].count() {
            let slot = sheet.lists[side][kind].slot(nth);
            let now = totals.change(simd, &sheet.safe[slot], first);
            let reach = Vector::load(simd, &sheet.reach[slot][first..]);
            totals.reach = totals.reach.add(reach.count());
            let count = now.count();
            of_kind = of_kind.add(count);
            count.store_bytes(&mut sheet.counts[slot][BEFORE + first..]);
        }
        of_kind.store_bytes(&mut sheet.sums[side].safe[kind][first..]);
    }
    let mut pawns = zero;
    for step in 0..4 {
        let now = totals.change(simd, &sheet.pawn_safe[side][step], first);
        pawns = pawns.add(now.count());
        let reach = Vector::load(simd, &sheet.pawn_reach[side][step][first..]);
        totals.reach = totals.reach.add(reach.count());
    }
    let sums = &mut sheet.sums[side];
    pawns.store_bytes(&mut sums.safe[Pawn as usize - 1][first..]);
    totals.taken.store(&mut sums.taken[first..]);
    totals.given.store(&mut sums.given[first..]);
    totals.reach.store(&mut sums.reach[first..]);
}

impl<S: Lanes> Totals<S> {
    /// Adds what changed of a set since the position before; gives the set.
    #[inline(always)]
    fn change(&mut self, simd: S, safe: &[u64], first: usize) -> Vector<S> {
        let now = Vector::load(simd, &safe[BEFORE + first..]);
        let before = Vector::load(simd, &safe[BEFORE + first - 1..]);
        self.taken = self.taken.add(before.and_not(now).count());
        self.given = self.given.add(now.and_not(before).count());
        now
    }
}
