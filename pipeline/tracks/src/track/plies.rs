//! What each ply did: sums over both sides, legal destinations, captures and promotions.

use hobble_terms::value;
use shakmaty::{Bitboard, Color, EnPassantMode, Move, Position, Role, attacks};

use super::{Track, side};
use crate::capture_runs::Victim;
use crate::lanes::sheet::BEFORE;
use crate::mobility::{answers_to_check, passing_answers_check};
use crate::ply::Ply;
use crate::roster::Change;
use crate::sight::is_piece;
use crate::spell::{End, KSet};

/// Squares taken from and given to one side.
struct Shift {
    taken: u64,
    given: u64,
}

impl Shift {
    /// Both, 255 where there are more.
    fn counts(&self) -> (u8, u8) {
        let cap = |squares: u64| squares.min(u64::from(u8::MAX)) as u8;
        (cap(self.taken), cap(self.given))
    }
}

impl Track {
    /// Follows the ply that leads to a position.
    #[inline(never)] // A place of its own in profiles.
    pub(super) fn follow(&mut self, position: usize, at: usize) {
        let m = self.moves[position - 1];
        let color = self.positions[position - 1].turn();
        let change = self.roster.play(m, color, position as u16);
        let captured_safe = change.captured.map(|(slot, square)| {
            let safe = match self.roster.kind(slot) {
                Role::Pawn => self.pawn_safe(!color, square, at - 1),
                _ => self.sheet.safe(slot, at - 1),
            };
            safe.count() as u8
        });
        self.settle(position, color, m, &change);
        let own = self.own_shift(m, color, &change, at).counts();
        let mut other = self.shift(!color, at);
        other.taken -= u64::from(captured_safe.unwrap_or(0));
        let other = other.counts();
        let board = self.positions[position].board();
        let attacked = self.attacked(color, at);
        self.plies.push(Ply {
            mover: m.role(),
            from: m.from().unwrap_or(m.to()),
            to: match m.castling_side() {
                Some(side) => side.king_to(color),
                None => m.to(),
            },
            captured: m.capture(),
            promotion: m.promotion(),
            check: board
                .king_of(!color)
                .is_some_and(|king| attacked.contains(king)),
            castling: m.is_castle(),
            en_passant: m.is_en_passant(),
            legal: self.record.legal_before(position),
            taken: other.0,
            given: other.1,
            own_taken: own.0,
            own_given: own.1,
            captured_safe,
            safe: self.safe_by_kind(at),
        });
    }

    fn shift(&self, color: Color, at: usize) -> Shift {
        let sums = &self.sheet.sums[side(color)];
        Shift {
            taken: sums.taken[at - BEFORE],
            given: sums.given[at - BEFORE],
        }
    }

    /// What a move of `color` took from its own units and gave to them: a pawn that moved is
    /// one unit, a pawn that promoted and the piece born of it are left out.
    fn own_shift(&self, m: Move, color: Color, change: &Change, at: usize) -> Shift {
        let mut shift = self.shift(color, at);
        if m.role() == Role::Pawn {
            let from = m.from().unwrap_or(m.to());
            let before = self.pawn_safe(color, from, at - 1);
            let count = |squares: Bitboard| squares.count() as u64;
            shift.taken -= count(before);
            match change.born {
                Some(born) => shift.given -= count(self.sheet.safe(born, at)),
                None => {
                    let after = self.pawn_safe(color, m.to(), at);
                    shift.taken += count(before & !after);
                    shift.given += count(after & !before);
                    shift.given -= count(after);
                }
            }
        }
        shift
    }

    /// Sum of the distinct legal destinations of the side on move.
    pub(super) fn legal_total(&self, position: usize, at: usize) -> u8 {
        let board = self.positions[position].board();
        let color = self.positions[position].turn();
        let attacked = self.attacked(!color, at);
        let king = board.king_of(color).filter(|&king| attacked.contains(king));
        let total = match king {
            None => self.sheet.sums[side(color)].reach[at - BEFORE] as usize,
            Some(_) => self.legal_in_check(position, at),
        };
        total.min(usize::from(u8::MAX)) as u8
    }

    fn legal_in_check(&self, position: usize, at: usize) -> usize {
        let game = &self.positions[position];
        let (board, color) = (game.board(), game.turn());
        let Some(king) = board.king_of(color) else {
            return 0;
        };
        let (sheet, lane) = (&self.sheet, at - BEFORE);
        let answers = answers_to_check(board, color, king);
        let mut total = 0;
        let kinds = [
            Role::Knight,
            Role::Bishop,
            Role::Rook,
            Role::Queen,
            Role::King,
        ];
        for kind in kinds {
            let answers = if kind == Role::King {
                Bitboard::FULL
            } else {
                answers
            };
            for &slot in sheet.lists[side(color)][kind as usize - 1].slots() {
                total += (self.measured(slot, at).reach & answers).count();
            }
        }
        let pawn_reach = &sheet.pawn_reach[side(color)];
        for squares in pawn_reach {
            total += (Bitboard(squares[lane]) & answers).count();
        }
        if let Some(to) = game.ep_square(EnPassantMode::Always) {
            // The check may be given by the pawn that is captured, which stands beside.
            let reached = |step: usize| Bitboard(pawn_reach[step][lane]).contains(to);
            for from in attacks::pawn_attacks(!color, to) & board.pawns() & board.by_color(color) {
                let step = if to.file() < from.file() { 2 } else { 3 };
                if reached(step) {
                    total -= usize::from(answers.contains(to));
                    total += usize::from(
                        answers.any() && passing_answers_check(board, color, king, from, to),
                    );
                }
            }
        }
        total
    }

    /// Books what a ply captured and promoted.
    fn settle(&mut self, ply: usize, color: Color, m: Move, change: &Change) {
        let mut balance = i32::from(self.balance[ply - 1]);
        let sign = color.fold_wb(1, -1);
        if let Some(promotion) = m.promotion() {
            balance += sign * (value(promotion) - value(Role::Pawn));
            self.piece_material += value(promotion);
        }
        if let Some((slot, square)) = change.captured {
            let kind = self.roster.kind(slot);
            self.victims.push(Victim {
                ply: ply as u16,
                slot,
                kind,
                color: !color,
                square,
                birth: self.roster.birth(slot) as u16,
            });
            balance += sign * value(kind);
            if is_piece(kind) {
                self.piece_material -= value(kind);
                if self.restricted[slot as usize] != 0 {
                    self.close(slot, KSet::MAX, ply - 2, End::Captured, ply);
                }
            }
        }
        self.balance.push(balance as i16);
    }
}
