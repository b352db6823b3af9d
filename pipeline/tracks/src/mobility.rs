//! Reach and safe squares of one side (definitions, sections 3 and 4).

use shakmaty::{Bitboard, Board, Castles, CastlingSide, Color, Role, Square, attacks};

use crate::pawns::{Pawns, after_en_passant, passed_pawn};
use crate::rules::Rules;
use crate::side::{Measured, Side};
use crate::sight::Sight;

/// Reach and safe squares of the units of one side, by the square they stand on; the pawns'
/// by step. Entries of squares without a piece or king of that side are stale.
#[derive(Clone)]
pub struct Mobility {
    /// Where the pawns could go.
    pub pawns: Pawns,
    /// Squares each piece and the king could go to.
    pub reach: [Bitboard; 64],
    /// Those of them that are safe.
    pub safe: [Bitboard; 64],
}

impl Default for Mobility {
    fn default() -> Self {
        Mobility {
            pawns: Pawns::default(),
            reach: [Bitboard::EMPTY; 64],
            safe: [Bitboard::EMPTY; 64],
        }
    }
}

/// What has changed on the board since a side was measured last, beside the attackers of
/// squares, which [`Sight::touched`] tells.
#[derive(Clone, Copy, Debug)]
pub struct Since {
    /// Squares with another occupant.
    pub changed: Bitboard,
    /// Units that were pinned then.
    pub pinned: Bitboard,
}

impl Since {
    /// Nothing was measured before.
    pub const NEVER: Since = Since {
        changed: Bitboard::FULL,
        pinned: Bitboard::EMPTY,
    };
}

impl Mobility {
    /// Measures all units of `color` from nothing; the turn is passed to it where it is not
    /// on move.
    pub fn measure(&mut self, sight: &Sight, rules: Rules<'_>, color: Color) {
        self.update(sight, rules, color, Since::NEVER, |_, _, _, _| ());
    }

    /// What was measured of a piece or king on a square.
    #[inline]
    pub fn of(&self, square: Square) -> Measured {
        Measured {
            reach: self.reach[square.to_usize()],
            safe: self.safe[square.to_usize()],
        }
    }

    /// What was measured of any unit of `color` on a square.
    #[inline]
    pub fn of_unit(&self, color: Color, square: Square, role: Role) -> Measured {
        match role {
            Role::Pawn => self.pawns.of(color, square),
            _ => self.of(square),
        }
    }

    /// Measures again what can have changed for `color`, and calls `told` with square, kind,
    /// former and new measure of each piece or king whose measure is another one. On squares
    /// of `since.changed` the former measure is not that of the same unit.
    ///
    /// A square has the same exchange value as before for a unit that has not moved where
    /// neither the square nor, by a slider, the unit's own has been touched: occupant and
    /// attackers, in front and behind, are the same, and lines that open behind the leaving
    /// unit lead over squares that sliders see deep.
    #[inline]
    pub fn update(
        &mut self,
        sight: &Sight,
        rules: Rules<'_>,
        color: Color,
        since: Since,
        mut told: impl FnMut(Square, Role, Measured, Measured),
    ) {
        let side = Side::new(sight, color);
        let own = sight.board.by_color(color);
        let pinned = *sight.pinned.get(color);
        let touched = &sight.touched;
        let fresh = since.changed | pinned | since.pinned;
        self.pawns.measure(&side, rules, fresh | touched.lines);
        // Of lines that open as it goes a knight knows nothing.
        let fresh = fresh | (touched.lines & !sight.board.knights());
        let contested = *touched.contested.get(color) & (!side.shut | since.changed);
        for from in own & !(sight.board.pawns() | sight.board.kings()) {
            let seen = sight.attacks(from);
            let renewed = if fresh.contains(from) {
                Bitboard::FULL
            } else if touched.turned.contains(from) {
                touched.all
            } else {
                contested
            };
            if !seen.intersects(renewed) {
                continue;
            }
            let former = self.of(from);
            let mut reach = seen & !side.shut;
            if pinned.contains(from) {
                reach &= side.pin_line(from);
            }
            let role = sight.role(from);
            let safe = (former.safe & reach & !renewed) | side.safe(from, role, reach & renewed);
            let new = Measured { reach, safe };
            if self.keep(from, former, new) {
                told(from, role, former, new);
            }
        }
        if let Some(king) = side.king {
            let former = self.of(king);
            let attacked = sight.control.get(!color).all | sight.behind_king(king, color);
            let mut reach = sight.attacks(king) & !side.shut & !attacked;
            if rules.castles.has_color(color) {
                for castling in [CastlingSide::KingSide, CastlingSide::QueenSide] {
                    if may_castle(sight, rules.castles, color, king, castling) {
                        reach |= Bitboard::from_square(castling.king_to(color));
                    }
                }
            }
            let new = Measured { reach, safe: reach };
            if self.keep(king, former, new) {
                told(king, Role::King, former, new);
            }
        }
    }

    /// Keeps a measure; says whether it is another one than before.
    #[inline]
    fn keep(&mut self, square: Square, former: Measured, new: Measured) -> bool {
        // Without a branch: half the measures are the same, in no order to guess.
        let other = !((new.reach ^ former.reach) | (new.safe ^ former.safe)).is_empty();
        if other {
            self.reach[square.to_usize()] = new.reach;
            self.safe[square.to_usize()] = new.safe;
        }
        other
    }

    /// Distinct legal destinations of each unit of the side on move, given its measured
    /// reach: all of the reach without a check, otherwise what answers the check.
    pub fn legal(&self, sight: &Sight, rules: Rules<'_>, from: Square, role: Role) -> Bitboard {
        let color = rules.turn;
        let reach = self.of_unit(color, from, role).reach;
        let Some(king) = sight.board.king_of(color) else {
            return reach;
        };
        if role == Role::King || !sight.control.get(!color).all.contains(king) {
            return reach;
        }
        let mut answers = answers_to_check(&sight.board, color, king);
        if answers.is_empty() {
            return answers;
        }
        if role == Role::Pawn
            && let Some(to) = rules.en_passant
            && reach.contains(to)
            && sight.attacks(from).contains(to)
        {
            let occupied = after_en_passant(sight, from, to);
            let taken = Bitboard::from_square(passed_pawn(from, to));
            answers.set(
                to,
                (sight.board.attacks_to(king, !color, occupied) & !taken).is_empty(),
            );
        }
        reach & answers
    }
}

/// Squares on which a unit other than the king ends the check to the king of `color`: all of
/// them where there is none, none of them where there are two checks.
pub(crate) fn answers_to_check(board: &Board, color: Color, king: Square) -> Bitboard {
    let checkers = board.attacks_to(king, !color, board.occupied());
    match checkers.single_square() {
        Some(checker) => attacks::between(king, checker).with(checker),
        None if checkers.is_empty() => Bitboard::FULL,
        None => Bitboard::EMPTY,
    }
}

/// Good squares among the safe ones of a unit of `color` on `from` (definitions, section 4).
#[inline]
pub fn good(color: Color, from: Square, safe: Bitboard) -> Bitboard {
    // Files c to f, rows 3 to 6: the same for both sides.
    let central = Bitboard(0x0000_3c3c_3c3c_0000);
    let row = from.rank().to_u32() * 8;
    let forward = match color {
        Color::White => Bitboard((!0xff_u64) << row),
        Color::Black => Bitboard((1_u64 << row) - 1),
    };
    safe & (central | forward)
}

/// Safe squares the pinned piece on `from` would have were its pin left out.
pub fn safe_without_pin(sight: &Sight, color: Color, from: Square, role: Role) -> Bitboard {
    let side = Side::new(sight, color);
    side.safe(from, role, sight.attacks(from) & !side.shut)
}

/// Castling by the rules in full: rights, empty path, no check, no attacked square on the
/// king's way.
fn may_castle(
    sight: &Sight,
    castles: &Castles,
    color: Color,
    king: Square,
    side: CastlingSide,
) -> bool {
    let Some(rook) = castles.rook(color, side) else {
        return false;
    };
    let occupied = sight.board.occupied();
    if (castles.path(color, side) & occupied).any() {
        return false;
    }
    let to = side.king_to(color);
    let way = attacks::between(king, to).with(king);
    if way.intersects(sight.control.get(!color).all) {
        return false;
    }
    // The destination is judged with the rook in its new place.
    let after = occupied
        .without(king)
        .without(rook)
        .with(side.rook_to(color));
    sight.board.attacks_to(to, !color, after).is_empty()
}
