//! Reach and safe squares of one side in a single position (definitions, sections 3 and 4).

use hobble_terms::value;
use shakmaty::{Bitboard, Board, Castles, CastlingSide, Color, Piece, Role, Square, attacks};

use crate::exchange::Exchange;
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

impl Mobility {
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

    /// Measures all units of `color`; the turn is passed to it where it is not on move.
    pub fn measure(&mut self, sight: &Sight, rules: Rules<'_>, color: Color) {
        let side = Side::new(sight, color);
        let own = sight.board.by_color(color);
        let pinned = *sight.pinned.get(color);
        self.pawns = Pawns::measured(&side, rules);
        for from in own & !(sight.board.pawns() | sight.board.kings()) {
            let mut reach = sight.attacks(from) & !side.shut;
            if pinned.contains(from) {
                reach &= side.pin_line(from);
            }
            let safe = side.safe(from, sight.role(from), reach);
            self.keep(from, Measured { reach, safe });
        }
        if let Some(king) = side.king {
            let attacked = sight.control.get(!color).all;
            let shut = side.shut | attacked | sight.behind_king(king, color);
            let mut reach = sight.attacks(king) & !shut;
            if rules.castles.has_color(color) {
                for castling in [CastlingSide::KingSide, CastlingSide::QueenSide] {
                    if may_castle(&sight.board, attacked, rules.castles, color, king, castling) {
                        reach |= Bitboard::from_square(castling.king_to(color));
                    }
                }
            }
            let safe = reach;
            self.keep(king, Measured { reach, safe });
        }
    }

    #[inline]
    fn keep(&mut self, square: Square, measured: Measured) {
        self.reach[square.to_usize()] = measured.reach;
        self.safe[square.to_usize()] = measured.safe;
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
        if role == Role::Pawn
            && answers.any()
            && let Some(to) = rules.en_passant
            && (reach & sight.attacks(from)).contains(to)
        {
            answers.set(
                to,
                passing_answers_check(&sight.board, color, king, from, to),
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

/// Whether a capture en passant leaves the own king on `king` without a check.
pub(crate) fn passing_answers_check(
    board: &Board,
    color: Color,
    king: Square,
    from: Square,
    to: Square,
) -> bool {
    let occupied = after_en_passant(board, from, to);
    let taken = Bitboard::from_square(passed_pawn(from, to));
    (board.attacks_to(king, !color, occupied) & !taken).is_empty()
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

/// Safe squares the piece on `from` would have were its pin left out.
pub(crate) fn safe_without_pin(board: &Board, color: Color, from: Square, role: Role) -> Bitboard {
    let occupied = board.occupied();
    let without = occupied.without(from);
    let seen = attacks::attacks(from, Piece { color, role }, occupied);
    let reach = seen & !board.by_color(color) & !board.kings();
    let is_safe = |to: &Square| {
        let gain = board.role_at(*to).map_or(0, value);
        Exchange::on(board, *to).holds(color, value(role), gain, without)
    };
    reach.into_iter().filter(is_safe).collect()
}

/// Castling by the rules in full: rights, empty path, no check, no square on the king's way
/// that the other side attacks (`attacked`).
pub(crate) fn may_castle(
    board: &Board,
    attacked: Bitboard,
    castles: &Castles,
    color: Color,
    king: Square,
    side: CastlingSide,
) -> bool {
    let Some(rook) = castles.rook(color, side) else {
        return false;
    };
    let occupied = board.occupied();
    if (castles.path(color, side) & occupied).any() {
        return false;
    }
    let to = side.king_to(color);
    let way = attacks::between(king, to).with(king);
    if way.intersects(attacked) {
        return false;
    }
    // The destination is judged with the rook in its new place.
    let after = occupied
        .without(king)
        .without(rook)
        .with(side.rook_to(color));
    board.attacks_to(to, !color, after).is_empty()
}
