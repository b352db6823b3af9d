//! The positions of a game measured, eight at once.

use shakmaty::{Bitboard, Color, Position, Role, Square};

use super::{NEVER, Track};
use crate::lanes::CHUNK;
use crate::lanes::sheet::{BEFORE, GONE};
use crate::pawns::Steps;
use crate::roster::Slot;
use crate::side::Measured;
use crate::track::side;

impl Track {
    /// Measures the positions from `first` on, following on from those measured before.
    pub(super) fn measure(&mut self, first: usize) {
        self.place(first);
        let end = self.positions.len().min(first + CHUNK);
        let ahead = &self.ahead;
        self.sheet
            .list(ahead.len(), |slot| (ahead.kind(slot), ahead.color(slot)));
        let positions = &self.positions[first..end];
        self.instructions
            .measure(positions, &mut self.planes, &mut self.sheet);
        self.note_exceeded(first);
    }

    /// Puts down where the units stand in the positions of a chunk.
    fn place(&mut self, first: usize) {
        let Track {
            positions,
            moves,
            ahead,
            sheet,
            ..
        } = self;
        if first == 0 {
            sheet.begin();
            for slot in 0..ahead.len() as Slot {
                sheet.place(slot, BEFORE, ahead.square(slot) as u8);
            }
        } else {
            sheet.advance(ahead.len());
        }
        for position in first.max(1)..positions.len().min(first + CHUNK) {
            let at = BEFORE + position - first;
            let before = position - 1;
            let change = ahead.play(moves[before], positions[before].turn(), position as u16);
            if let Some((captured, _)) = change.captured {
                sheet.place(captured, at, GONE);
            }
            for (_, to) in change.paths.into_iter().flatten() {
                sheet.place(ahead.at(to), at, to as u8);
            }
            if let Some(born) = change.born {
                sheet.place(change.mover, at, GONE);
                sheet.place(born, at, ahead.square(born) as u8);
            }
        }
    }

    /// Notes at which positions pieces had more than k safe squares for the first time.
    fn note_exceeded(&mut self, first: usize) {
        let Track {
            sheet, exceeded, ..
        } = self;
        for side in &sheet.lists {
            for list in &side[Role::Knight as usize - 1..Role::King as usize - 1] {
                for &slot in list.slots() {
                    let exceeded = &mut exceeded[usize::from(slot)];
                    let counts = &sheet.counts[usize::from(slot)][BEFORE..];
                    let most = counts.iter().fold(0, |most, &count| count.max(most));
                    let known = exceeded.iter().filter(|&&first| first != NEVER);
                    let known = known.count();
                    // Hardly ever has a piece more than it has had before.
                    if known < exceeded.len() && usize::from(most) > known {
                        for (k, position) in exceeded.iter_mut().enumerate().skip(known) {
                            let above = |&count: &u8| usize::from(count) > k;
                            if let Some(lane) = counts.iter().position(above) {
                                *position = (first + lane) as u16;
                            }
                        }
                    }
                }
            }
        }
    }

    /// What was measured of the pawn on a square, at a place of the sheet in this chunk or
    /// (`safe` only) just before it.
    pub(super) fn pawn_safe(&self, color: Color, from: Square, at: usize) -> Bitboard {
        let [one, two, left, right] = &self.sheet.pawn_safe[side(color)];
        let squares = [one[at], two[at], left[at], right[at]];
        Steps::new(squares.map(Bitboard)).of(color, from)
    }

    /// Reach and safe squares of a knight, bishop, rook, queen or king.
    pub(super) fn measured(&self, slot: Slot, at: usize) -> Measured {
        Measured {
            reach: Bitboard(self.sheet.reach[usize::from(slot)][at - BEFORE]),
            safe: self.sheet.safe(slot, at),
        }
    }

    /// Squares that a side attacks.
    pub(super) fn attacked(&self, by: Color, at: usize) -> Bitboard {
        Bitboard(self.sheet.attacked[side(by)][at])
    }

    /// Whether a unit stands pinned; not where it is not on the board.
    pub(super) fn is_pinned(&self, slot: Slot, at: usize) -> bool {
        let pinned = Bitboard(self.sheet.pinned[side(self.roster.color(slot))][at]);
        let square = self.sheet.square(slot, at);
        square.is_some_and(|square| pinned.contains(square))
    }

    /// Safe mobility of both sides by kind.
    pub(super) fn safe_by_kind(&self, at: usize) -> [[u8; 6]; 2] {
        let mut safe = [[0; 6]; 2];
        for (safe, sums) in safe.iter_mut().zip(&self.sheet.sums) {
            for (safe, lanes) in safe.iter_mut().zip(&sums.safe) {
                *safe = lanes[at - BEFORE];
            }
        }
        safe
    }
}
