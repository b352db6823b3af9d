//! Turns of the owner: observations, and spells that start or end.

use hobble_terms::{By, OTHERS_K, Phase};
use shakmaty::{Bitboard, Position};

use super::Track;
use crate::exposure::{BoardKey, Observation};
use crate::mobility::{answers_to_check, good, safe_without_pin};
use crate::roster::{MAX_UNITS, Slot};
use crate::side::Measured;
use crate::spell::{
    Cause, End, Glance, KSet, OpenSpell, Origin, StartState, restrains, restricted_at,
};
use crate::surroundings::Surroundings;

impl Track {
    /// A turn at position `position`, which has the place `at` in the sheet: observations,
    /// spells that end or start.
    #[inline(never)] // A place of its own in profiles.
    pub(super) fn turn(&mut self, position: usize, at: usize) {
        let legal = self.legal_total(position, at);
        let color = self.positions[position].turn();
        let board = self.positions[position].board();
        let pieces = board.by_color(color) & !board.pawns() & !board.kings();
        let attacked = self.attacked(!color, at);
        let defended = self.attacked(color, at);
        let phase = Phase::at(position, self.piece_material);
        self.record.begin_turn(self.observations.len(), legal);
        let mut others = Others::default();
        let mut starting = [(0, 0); MAX_UNITS];
        let mut starts = 0;
        for square in pieces {
            let slot = self.roster.at(square);
            let safe = self.sheet.counts[slot as usize][at];
            let developed = self.roster.is_developed(slot);
            others.add(slot, developed && safe <= OTHERS_K);
            self.observations.push(Observation {
                slot,
                safe,
                position: position as u16,
                key: BoardKey::new(
                    self.roster.kind(slot),
                    safe,
                    developed,
                    attacked.contains(square),
                    defended.contains(square),
                    phase,
                ),
            });
            let measured = self.measured(slot, at);
            self.record.observe(square, measured);
            let was = self.restricted[slot as usize];
            let now = restricted_at(safe);
            if was != now {
                self.restricted[slot as usize] = now;
                if was & !now != 0 {
                    self.free(slot, was & !now, position, at);
                }
                if now & !was != 0 {
                    starting[starts] = (slot, now & !was);
                    starts += 1;
                }
            }
        }
        // Of the spells at k = OTHERS_K those that go on are left.
        others.restrained = self.restraining & others.pieces;
        for &(slot, ks) in &starting[..starts] {
            let mut state = self.state(slot, position, at, phase);
            (state.others_held, state.others_restrained) = others.than(slot);
            self.restrict(slot, ks, position, at, state);
        }
    }

    /// Ends the spells of a piece that has more squares at position `position`.
    fn free(&mut self, slot: Slot, ks: u8, position: usize, at: usize) {
        let between = self.sheet.counts[slot as usize][at - 1];
        // The owner's ply freed it for those k it already exceeded with the turn passed.
        let own = ks & !restricted_at(between);
        if own != 0 {
            let moved = self.roster.last_moved(slot) == position - 1;
            let end = End::Freed {
                by: By::Own,
                moved_away: Some(moved),
            };
            self.close(slot, own, position - 2, end, position - 1);
        }
        if ks != own {
            let end = End::Freed {
                by: By::Opponent,
                moved_away: None,
            };
            self.close(slot, ks & !own, position - 2, end, position);
        }
    }

    /// Ends the spells of a piece for those of `ks` they run for.
    pub(super) fn close(&mut self, slot: Slot, ks: KSet, last: usize, end: End, end_ply: usize) {
        let (kind, color) = (self.roster.kind(slot), self.roster.color(slot));
        for spell in &mut self.running[slot as usize] {
            if spell.ks & ks != 0 {
                if spell.ks & ks & 1 << OTHERS_K != 0 {
                    self.restraining &= !(1 << slot);
                }
                let ended = spell.close(ks, slot, kind, color, last, end, end_ply);
                self.spells.push(ended);
            }
        }
    }

    /// Starts spells of a piece at its owner's turn `position`, for each k in `ks`.
    #[inline(never)] // A place of its own in profiles.
    fn restrict(&mut self, slot: Slot, ks: KSet, position: usize, at: usize, state: StartState) {
        let origin = self.origin(slot, position, at);
        // Neighbouring k of the same cause make one spell.
        let (mut same, mut cause) = (0, Cause::UNDEVELOPED);
        let mut rest = ks;
        while rest != 0 {
            let k = rest.trailing_zeros() as u8;
            rest &= rest - 1;
            let next = origin.cause(k);
            if same != 0 && next != cause {
                self.open(slot, same, position, cause, state);
                same = 0;
            }
            (same, cause) = (same | 1 << k, next);
        }
        self.open(slot, same, position, cause, state);
    }

    fn open(&mut self, slot: Slot, ks: KSet, position: usize, cause: Cause, state: StartState) {
        if ks & 1 << OTHERS_K != 0 && restrains(&cause, &state) {
            self.restraining |= 1 << slot;
        }
        let spells = &mut self.running[slot as usize];
        // There is one: each of the others runs for another k.
        if let Some(free) = spells.iter_mut().find(|spell| spell.ks == 0) {
            *free = OpenSpell {
                ks,
                start: position as u16,
                cause,
                state,
            };
        }
    }

    /// What the causes of a piece's spells from its owner's turn `position` are judged by.
    fn origin(&self, slot: Slot, position: usize, at: usize) -> Origin {
        // Positions before the first have no units.
        let glances = [0, 1].map(|back| self.glance(slot, position.wrapping_sub(back), at - back));
        let exceeded = self.exceeded[slot as usize].iter();
        let most = exceeded.filter(|&&first| usize::from(first) <= position);
        Origin {
            position: position as u16,
            most: (self.roster.birth(slot) == 0).then(|| most.count() as u8),
            now: glances[0],
            passed: glances[1],
            earlier: Glance {
                safe: self.safe_at(slot, at - 2),
                pinned: self.is_pinned(slot, at - 2),
                ..Glance::NONE
            },
            moved: self.roster.last_moved(slot) as u16,
            plies: [2, 1].map(|back| {
                let ply = self.plies.get(position.checked_sub(back)?)?;
                Some((ply.mover, ply.is_quiet()))
            }),
        }
    }

    /// Safe squares of a piece; `None` where it is not on the board.
    fn safe_at(&self, slot: Slot, at: usize) -> Option<u8> {
        let on_board = self.sheet.square(slot, at).is_some();
        on_board.then(|| self.sheet.counts[slot as usize][at])
    }

    /// A piece at a position of the chunk or the one before it.
    fn glance(&self, slot: Slot, position: usize, at: usize) -> Glance {
        let pinned = self.is_pinned(slot, at);
        let unpinned = match self.sheet.square(slot, at) {
            // Asked for only where the piece was not pinned before.
            Some(square) if pinned && !self.is_pinned(slot, at - 1) => {
                let (color, kind) = (self.roster.color(slot), self.roster.kind(slot));
                let board = self.positions[position].board();
                safe_without_pin(board, color, square, kind).count() as u8
            }
            _ => 0,
        };
        let taken = self.sheet.safe(slot, at - 1) & !self.sheet.safe(slot, at);
        Glance {
            safe: self.safe_at(slot, at),
            pinned,
            unpinned,
            taken: taken.count() as u8,
        }
    }

    fn state(&self, slot: Slot, position: usize, at: usize, phase: Phase) -> StartState {
        let board = self.positions[position].board();
        let square = self.roster.square(slot);
        let color = self.roster.color(slot);
        let kind = self.roster.kind(slot);
        let Measured { reach, safe } = self.measured(slot, at);
        let attacked = self.attacked(!color, at);
        let king = board.king_of(color).filter(|&king| attacked.contains(king));
        let answers = king.map_or(Bitboard::FULL, |king| answers_to_check(board, color, king));
        StartState {
            square,
            safe: safe.count() as u8,
            good: good(color, square, safe).count() as u8,
            reach: reach.count() as u8,
            legal: (reach & answers).count() as u8,
            around: Surroundings::of(board, color, kind, square),
            developed: self.roster.is_developed(slot),
            phase,
            balance: color.fold_wb(1, -1) * self.balance[position],
            others_held: 0,
            others_restrained: 0,
        }
    }
}

/// The pieces of a side at a turn, to count those beside one of them. Sets of slots.
#[derive(Default)]
struct Others {
    pieces: u64,
    /// Developed, with [`OTHERS_K`] safe squares or fewer.
    held: u64,
    /// Restrained at [`OTHERS_K`], the landmark reached.
    restrained: u64,
}

impl Others {
    #[inline]
    fn add(&mut self, slot: Slot, held: bool) {
        self.pieces |= 1 << slot;
        self.held |= u64::from(held) << slot;
    }

    /// Held and restrained pieces beside the one of a slot.
    fn than(&self, slot: Slot) -> (u8, u8) {
        let beside = |set: u64| (set & !(1 << slot)).count_ones() as u8;
        (beside(self.held), beside(self.restrained))
    }
}
