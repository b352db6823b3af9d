//! The rows made of some turns of a game at its end, when it is known which of them are in the
//! sample and what became of the pieces.

use std::ops::Range;

use hobble_terms::{MAX_K, OTHERS_K, PLIES_TO_LANDMARK, Phase, landmark_k};
use shakmaty::{Bitboard, Color, Position};

use super::losses::Losses;
use super::recorded::RecordedPiece;
use super::{Track, side};
use crate::material::piece_material;
use crate::mobility::{answers_to_check, good};
use crate::roster::Slot;
use crate::spell::Spell;
use crate::surroundings::Surroundings;
use crate::turn::{Earlier, Held, MATERIAL_AFTER_TURN, Setting, TurnRow};

/// Rows of some turns of a game; buffers are kept from game to game.
#[derive(Default)]
pub struct TurnRows {
    rows: Vec<TurnRow>,
    /// Whether each turn of the game is a landmark turn.
    landmarks: Vec<bool>,
    picked: Vec<PickedTurn>,
    /// For each turn of the game, the number of picked turns before it.
    picked_before: Vec<u16>,
    lost: Losses,
}

/// A turn with its rows.
struct PickedTurn {
    position: u16,
    color: Color,
    first: usize,
    end: usize,
}

impl TurnRows {
    /// The rows, in the order of turns, and there of squares.
    pub fn rows(&self) -> &[TurnRow] {
        &self.rows
    }
}

impl Track {
    /// Makes the rows of the turns in a sample and of those at which a piece of the owner is
    /// at its landmark; after [`Track::finish`].
    pub fn turn_rows(&self, is_sampled: impl Fn(u16) -> bool, made: &mut TurnRows) {
        let plies = self.plies.len();
        made.rows.clear();
        made.picked.clear();
        made.picked_before.clear();
        made.lost.take(self.captures());
        made.landmarks.clear();
        made.landmarks.resize(plies, false);
        for spell in self.spells.iter().filter(|spell| is_landmark(spell)) {
            made.landmarks[usize::from(spell.start + PLIES_TO_LANDMARK)] = true;
        }
        for position in 0..plies {
            made.picked_before.push(made.picked.len() as u16);
            let landmark = made.landmarks[position];
            let sampled = is_sampled(position as u16);
            if landmark || sampled {
                self.pick(position, sampled, landmark, made);
            }
        }
        for spell in &self.spells {
            // Most spells are short and hold no picked turn.
            let from = usize::from(made.picked_before[usize::from(spell.start)]);
            let last = spell.start + 2 * (spell.turns - 1);
            let turns = made.picked[from..].iter();
            let turns = turns.take_while(|turn| turn.position <= last);
            for turn in turns.filter(|turn| turn.color == spell.color) {
                let rows = &mut made.rows[turn.first..turn.end];
                if let Some(row) = rows.iter_mut().find(|row| row.slot == spell.slot) {
                    row.note(spell);
                }
            }
        }
        for turn in &made.picked {
            count_others(&mut made.rows[turn.first..turn.end]);
        }
    }

    /// Adds the rows of a turn, all but what comes from the spells.
    fn pick(&self, position: usize, sampled: bool, landmark: bool, made: &mut TurnRows) {
        let first = made.rows.len();
        let board = self.positions[position].board();
        let seen = self.observed_at(position);
        let Some(color) = seen.clone().next().map(|index| {
            let slot = self.observations[index].slot;
            self.roster.color(slot)
        }) else {
            return;
        };
        let answers = board
            .king_of(color)
            .map_or(Bitboard::FULL, |king| answers_to_check(board, color, king));
        let setting = self.setting(position, color);
        for index in seen {
            let observed = &self.observations[index];
            if !observed.key.developed() {
                continue;
            }
            let slot = observed.slot;
            let RecordedPiece { square, measured } = self.record.pieces[index];
            let kind = self.roster.kind(slot);
            made.rows.push(TurnRow {
                position: position as u16,
                sampled,
                landmark,
                slot,
                kind,
                color,
                square,
                safe: observed.safe,
                good: good(color, square, measured.safe).count() as u8,
                reach: measured.reach.count() as u8,
                legal: (measured.reach & answers).count() as u8,
                last: self.earlier(slot, position, 2),
                before_last: self.earlier(slot, position, 4),
                around: Surroundings::of(board, color, kind, square),
                held: None,
                restrained: [0; MAX_K as usize + 1],
                restrained_by: None,
                others_held: 0,
                others_restrained: 0,
                setting,
                capture: self.captures[slot as usize],
                others_lost: made.lost.next(position, color, slot),
            });
        }
        made.picked.push(PickedTurn {
            position: position as u16,
            color,
            first,
            end: made.rows.len(),
        });
    }

    /// Numbers of the observations made at a turn.
    pub(super) fn observed_at(&self, position: usize) -> Range<usize> {
        let turns = &self.record.turns;
        let end = turns.get(position + 1).map(|turn| turn.first as usize);
        turns[position].first as usize..end.unwrap_or(self.observations.len())
    }

    /// A piece at its owner's turn some plies back.
    pub(super) fn earlier(&self, slot: Slot, position: usize, plies: usize) -> Option<Earlier> {
        let seen = self.observed_at(position.checked_sub(plies)?);
        let mut seen = self.observations[seen].iter();
        let then = seen.find(|observed| observed.slot == slot)?;
        Some(Earlier {
            safe: then.safe,
            attacked: then.key.attacked(),
        })
    }

    /// The game at a turn of a side.
    pub(super) fn setting(&self, position: usize, on_move: Color) -> Setting {
        let sign = on_move.fold_wb(1, -1);
        let (balance, scope) = (self.balance[position], self.scope(position));
        let change = |moves: usize| {
            let later = *self.balance.get(position + 2 * moves)?;
            Some(sign * (later - balance))
        };
        let board = self.positions[position].board();
        Setting {
            scope: scope[side(on_move)],
            scope_opponent: scope[side(!on_move)],
            balance: sign * balance,
            material: MATERIAL_AFTER_TURN.map(change),
            phase: Phase::at(position, piece_material(board)),
        }
    }

    /// Safe squares of all units of White and Black at a position.
    fn scope(&self, position: usize) -> [u16; 2] {
        let safe = match position.checked_sub(1) {
            Some(ply) => &self.plies[ply].safe,
            None => &self.start_safe,
        };
        safe.map(|of_kinds| of_kinds.iter().map(|&safe| u16::from(safe)).sum())
    }
}

/// Whether a spell puts the turn of its landmark into the rows.
fn is_landmark(spell: &Spell) -> bool {
    spell.k_low <= landmark_k(spell.kind) && spell.is_restrained()
}

impl TurnRow {
    /// Notes a spell of the piece that this turn is one of.
    fn note(&mut self, spell: &Spell) {
        let before = (self.position - spell.start) / 2;
        if (spell.k_low..=spell.k_high).contains(&self.safe) {
            self.held = Some(Held {
                turns: before + 1,
                cause: spell.cause,
            });
        }
        if before == 0 || !spell.is_restrained() {
            return;
        }
        for k in spell.k_low..=spell.k_high {
            self.restrained[usize::from(k)] = before;
        }
        // Spells with one start and the cause `taken` have one cause ply.
        let newest = |ply: crate::spell::CausePly| ply.ply < spell.start;
        if self.restrained_by.is_none_or(newest) {
            self.restrained_by = spell.cause.ply;
        }
    }
}

/// Counts for each row of a turn the other rows that are held or restrained.
fn count_others(rows: &mut [TurnRow]) {
    let is_held = |row: &TurnRow| u8::from(row.safe <= OTHERS_K);
    let is_restrained = |row: &TurnRow| u8::from(row.restrained[usize::from(OTHERS_K)] > 0);
    let held: u8 = rows.iter().map(is_held).sum();
    let restrained: u8 = rows.iter().map(is_restrained).sum();
    for row in rows {
        row.others_held = held - is_held(row);
        row.others_restrained = restrained - is_restrained(row);
    }
}
