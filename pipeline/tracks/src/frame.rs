//! What a track keeps of its last positions, and what a ply changes in them.

use shakmaty::Bitboard;

use crate::roster::{MAX_UNITS, Slot};
use crate::spell::Glance;

/// Safe squares of all units at one of the last three positions.
#[derive(Clone, Copy)]
pub struct Frame {
    /// By slot; stale for units not on the board then.
    pub safe: [u8; MAX_UNITS],
    /// Without the pin, for pieces that were not pinned one position before; else stale.
    pub unpinned: [u8; MAX_UNITS],
    /// Safe squares the ply that led here took from each unit.
    pub taken: [u8; MAX_UNITS],
    /// Slots pinned then.
    pub pinned: u64,
    /// Slots on the board then.
    pub present: u64,
}

impl Frame {
    /// No units.
    pub const EMPTY: Frame = Frame {
        safe: [0; MAX_UNITS],
        unpinned: [0; MAX_UNITS],
        taken: [0; MAX_UNITS],
        pinned: 0,
        present: 0,
    };

    /// The unit of a slot then.
    pub fn glance(&self, slot: Slot) -> Glance {
        let bit = 1_u64 << slot;
        Glance {
            safe: (self.present & bit != 0).then_some(self.safe[slot as usize]),
            pinned: self.pinned & bit != 0,
            unpinned: self.unpinned[slot as usize],
            taken: self.taken[slot as usize],
        }
    }
}

/// Sums over one side, kept up with every unit measured.
#[derive(Clone, Copy, Default)]
pub struct Sums {
    /// Safe mobility by kind, pawns left out.
    pub safe: [i16; 6],
    /// Squares of all reaches, pawns left out.
    pub reach: i16,
}

/// Safe squares taken from and given to one side by a ply.
#[derive(Clone, Copy, Default)]
pub struct Shift {
    taken: usize,
    given: usize,
}

impl Shift {
    /// Adds the change of one unit; gives the squares taken from it.
    #[inline]
    pub fn add(&mut self, before: Bitboard, after: Bitboard) -> usize {
        let taken = (before & !after).count();
        self.taken += taken;
        self.given += (after & !before).count();
        taken
    }

    /// Squares taken and given.
    pub fn counts(self) -> (u8, u8) {
        let cap = |n: usize| n.min(usize::from(u8::MAX)) as u8;
        (cap(self.taken), cap(self.given))
    }
}
