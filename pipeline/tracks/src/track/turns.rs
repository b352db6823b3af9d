//! Turns of the owner: observations, and spells that start or end.

use hobble_terms::{By, OTHERS_K, Phase};
use shakmaty::Color;

use super::{Track, side};
use crate::exposure::{BoardKey, Observation};
use crate::mobility::good;
use crate::roster::{MAX_UNITS, Slot};
use crate::rules::Rules;
use crate::spell::{
    Cause, End, Glance, KSet, OpenSpell, Origin, StartState, restrains, restricted_at,
};
use crate::surroundings::Surroundings;

impl Track {
    /// A turn of `color` at position `position`: observations, spells that end or start.
    #[inline(never)] // A place of its own in profiles.
    pub(super) fn turn(&mut self, position: usize, color: Color) {
        let board = &self.sight.board;
        let pieces = board.by_color(color) & !board.pawns() & !board.kings();
        let attacked = self.sight.control.get(!color).all;
        let defended = self.sight.control.get(color).all;
        let phase = Phase::at(position, self.piece_material);
        self.record
            .begin_turn(&self.position, self.observations.len());
        let mut others = Others::default();
        let mut starting = [(0, 0); MAX_UNITS];
        let mut starts = 0;
        for square in pieces {
            let slot = self.roster.at(square);
            let safe = self.frames[position % 3].safe[slot as usize];
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
            let measured = self.mobility[side(color)].of(square);
            self.record.observe(square, measured);
            let was = self.restricted[slot as usize];
            let now = restricted_at(safe);
            if was != now {
                self.restricted[slot as usize] = now;
                if was & !now != 0 {
                    self.free(slot, was & !now, position);
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
            self.restrict(slot, ks, position, phase, &others);
        }
    }

    /// Ends the spells of a piece that has more squares at position `position`.
    fn free(&mut self, slot: Slot, ks: u8, position: usize) {
        let between = self.frames[(position + 2) % 3].safe[slot as usize];
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
    fn restrict(&mut self, slot: Slot, ks: KSet, position: usize, phase: Phase, others: &Others) {
        let mut state = self.state(slot, position, phase);
        (state.others_held, state.others_restrained) = others.than(slot);
        let origin = self.origin(slot, position);
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
    fn origin(&self, slot: Slot, position: usize) -> Origin {
        let at = |position: usize| self.frames[position % 3].glance(slot);
        let none = Glance::NONE;
        Origin {
            position: position as u16,
            // At this position it has k squares or fewer, so that a higher figure is from
            // before.
            most: (self.roster.birth(slot) == 0).then_some(self.most[slot as usize]),
            now: at(position),
            passed: if position >= 1 {
                at(position - 1)
            } else {
                none
            },
            earlier: if position >= 2 {
                at(position - 2)
            } else {
                none
            },
            moved: self.roster.last_moved(slot) as u16,
            plies: [2, 1].map(|back| {
                let ply = self.plies.get(position.checked_sub(back)?)?;
                Some((ply.mover, ply.is_quiet()))
            }),
        }
    }

    fn state(&self, slot: Slot, position: usize, phase: Phase) -> StartState {
        let sight = &self.sight;
        let board = &sight.board;
        let square = self.roster.square(slot);
        let color = self.roster.color(slot);
        let kind = self.roster.kind(slot);
        let mobility = &self.mobility[side(color)];
        let safe = mobility.safe[square.to_usize()];
        let rules = Rules::of(&self.position);
        StartState {
            square,
            safe: safe.count() as u8,
            good: good(color, square, safe).count() as u8,
            reach: mobility.reach[square.to_usize()].count() as u8,
            legal: mobility.legal(sight, rules, square, kind).count() as u8,
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
