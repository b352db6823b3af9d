//! The turns of a game kept as they were, for rows that only the whole game can fill.

use std::ops::Range;

use shakmaty::Square;

use crate::side::Measured;

/// The turns of a game as they were.
#[derive(Default)]
pub(super) struct Record {
    pub turns: Vec<RecordedTurn>,
    /// One for each observation.
    pub pieces: Vec<RecordedPiece>,
}

/// A turn as it was.
pub(super) struct RecordedTurn {
    /// Observations made before it.
    pub first: u32,
    /// Legal destinations of the side on move, summed over its units.
    pub legal: u8,
}

/// A piece observed at a turn.
pub(super) struct RecordedPiece {
    pub square: Square,
    pub measured: Measured,
}

impl Record {
    pub fn clear(&mut self) {
        self.turns.clear();
        self.pieces.clear();
    }

    /// A turn begins, `first` observations having been made before it.
    #[inline]
    pub fn begin_turn(&mut self, first: usize, legal: u8) {
        let first = first as u32;
        self.turns.push(RecordedTurn { first, legal });
    }

    /// Legal destinations at the turn before a position.
    pub fn legal_before(&self, position: usize) -> u8 {
        self.turns[position - 1].legal
    }

    /// Which of some observations is of the piece on a square.
    pub fn observed_on(&self, mut observed: Range<usize>, square: Square) -> Option<usize> {
        observed.find(|&index| self.pieces[index].square == square)
    }

    /// A piece is observed.
    #[inline]
    pub fn observe(&mut self, square: Square, measured: Measured) {
        self.pieces.push(RecordedPiece { square, measured });
    }
}
