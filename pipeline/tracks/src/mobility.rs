//! Reach and safe squares of one side (definitions, sections 3 and 4).

use shakmaty::{
    Bitboard, Castles, CastlingSide, Chess, Color, EnPassantMode, Position, Rank, Role, Square,
    attacks,
};

use crate::exchange::Exchange;
use crate::material::{PROMOTION_RISE, value};
use crate::sight::Sight;

/// Reach and safe squares of the units of one side, by the square they stand on. Entries of
/// squares without a unit of that side are stale.
#[derive(Clone)]
pub struct Mobility {
    /// Squares each unit could go to.
    pub reach: [Bitboard; 64],
    /// Those of them that are safe.
    pub safe: [Bitboard; 64],
}

impl Default for Mobility {
    fn default() -> Self {
        Mobility {
            reach: [Bitboard::EMPTY; 64],
            safe: [Bitboard::EMPTY; 64],
        }
    }
}

/// What the rules add to the board: castling rights, and en passant for the side on move.
#[derive(Clone, Copy)]
pub struct Rules<'a> {
    /// Castling rights of both sides.
    pub castles: &'a Castles,
    /// Square behind a pawn that has just made a double step.
    pub en_passant: Option<Square>,
    /// Side on move.
    pub turn: Color,
}

impl<'a> Rules<'a> {
    /// The rules' part of a position.
    pub fn of(position: &'a Chess) -> Rules<'a> {
        Rules {
            castles: position.castles(),
            en_passant: position.ep_square(EnPassantMode::Always),
            turn: position.turn(),
        }
    }
}

/// Reach and safe squares of one unit.
#[derive(Clone, Copy, Debug)]
pub struct Measured {
    /// Squares it could go to.
    pub reach: Bitboard,
    /// Those of them that are safe.
    pub safe: Bitboard,
}

/// What has changed on the board since a side was measured last, beside the attackers of
/// squares, which [`Sight::touched`] tells.
#[derive(Clone, Copy, Debug)]
pub struct Since {
    /// Squares with another occupant.
    pub changed: Bitboard,
    /// Units that were pinned then.
    pub pinned: Bitboard,
    /// Squares that could be captured on en passant, then or now.
    pub passing: Bitboard,
}

impl Since {
    /// Nothing was measured before.
    pub const NEVER: Since = Since {
        changed: Bitboard::FULL,
        pinned: Bitboard::EMPTY,
        passing: Bitboard::EMPTY,
    };
}

impl Mobility {
    /// Measures all units of `color` from nothing; the turn is passed to it where it is not
    /// on move.
    pub fn measure(&mut self, sight: &Sight, rules: Rules<'_>, color: Color) {
        self.update(sight, rules, color, Since::NEVER, |_, _, _| ());
    }

    /// What was measured of the unit on a square.
    #[inline]
    pub fn of(&self, square: Square) -> Measured {
        Measured {
            reach: self.reach[square.to_usize()],
            safe: self.safe[square.to_usize()],
        }
    }

    /// Measures again what can have changed for `color`, and calls `told` with square,
    /// former and new measure of each unit that was looked at. On squares of
    /// `since.changed` the former measure is not that of the same unit.
    ///
    /// A square has the same exchange value as before for a unit that has not moved where
    /// neither the square nor the unit's own has been touched: occupant and attackers, in
    /// front and behind, are the same, and lines that open behind the leaving unit lead over
    /// squares that sliders see deep.
    #[inline]
    pub fn update(
        &mut self,
        sight: &Sight,
        rules: Rules<'_>,
        color: Color,
        since: Since,
        mut told: impl FnMut(Square, Measured, Measured),
    ) {
        let side = Side::new(sight, color);
        let own = sight.board.by_color(color);
        let pinned = *sight.pinned.get(color);
        let fresh = since.changed | pinned | since.pinned | sight.touched;

        for from in own & sight.board.pawns() {
            let seen = sight.attacks(from);
            let ahead = ahead(color, from);
            let whole = fresh.contains(from) || seen.intersects(since.passing);
            if !whole && !(seen | ahead).intersects(sight.touched) {
                continue;
            }
            let former = self.of(from);
            let new = side.pawn(rules, from, pinned);
            self.reach[from.to_usize()] = new.reach;
            self.safe[from.to_usize()] = new.safe;
            told(from, former, new);
        }
        for role in [Role::Knight, Role::Bishop, Role::Rook, Role::Queen] {
            for from in own & sight.board.by_role(role) {
                let seen = sight.attacks(from);
                let whole = fresh.contains(from);
                if !whole && !seen.intersects(sight.touched) {
                    continue;
                }
                let former = self.of(from);
                let mut reach = seen & !side.shut;
                let safe = if whole {
                    if pinned.contains(from) {
                        reach &= side.pin_line(from);
                    }
                    side.safe(from, role, reach)
                } else {
                    (former.safe & reach & !sight.touched)
                        | side.safe(from, role, reach & sight.touched)
                };
                self.reach[from.to_usize()] = reach;
                self.safe[from.to_usize()] = safe;
                told(from, former, Measured { reach, safe });
            }
        }
        if let Some(king) = side.king {
            let former = self.of(king);
            let attacked = sight.control.get(!color).all | sight.behind(king, !color);
            let mut reach = sight.attacks(king) & !side.shut & !attacked;
            if rules.castles.has_color(color) {
                for castling in [CastlingSide::KingSide, CastlingSide::QueenSide] {
                    if may_castle(sight, rules.castles, color, king, castling) {
                        reach |= Bitboard::from_square(castling.king_to(color));
                    }
                }
            }
            self.reach[king.to_usize()] = reach;
            self.safe[king.to_usize()] = reach;
            told(king, former, Measured { reach, safe: reach });
        }
    }

    /// Distinct legal destinations of each unit of the side on move, given its measured
    /// reach: all of the reach without a check, otherwise what answers the check.
    pub fn legal(&self, sight: &Sight, rules: Rules<'_>, from: Square, role: Role) -> Bitboard {
        let reach = self.reach[from.to_usize()];
        let color = rules.turn;
        let Some(king) = sight.board.king_of(color) else {
            return reach;
        };
        if role == Role::King || !sight.control.get(!color).all.contains(king) {
            return reach;
        }
        let checkers = sight.board.attacks_to(king, !color, sight.board.occupied());
        let Some(checker) = checkers.single_square() else {
            return Bitboard::EMPTY;
        };
        let mut answers = attacks::between(king, checker).with(checker);
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

/// One side as its units see the board.
struct Side<'a> {
    sight: &'a Sight,
    color: Color,
    king: Option<Square>,
    /// Own units and the enemy king: never a destination.
    shut: Bitboard,
    /// Enemy units worth at least 1, 3, 5, 9.
    prey: [Bitboard; 4],
    /// Squares of the last rows where a pawn may promote by capturing.
    promoting: Bitboard,
    /// Squares where a slider of either side may join an exchange from behind.
    hidden: Bitboard,
}

impl<'a> Side<'a> {
    fn new(sight: &'a Sight, color: Color) -> Side<'a> {
        let board = &sight.board;
        let enemy = board.by_color(!color) & !board.kings();
        let queens = enemy & board.queens();
        let rooks = queens | (enemy & board.rooks());
        let white = sight.control.white.pawn & Rank::Eighth;
        let black = sight.control.black.pawn & Rank::First;
        Side {
            sight,
            color,
            king: board.king_of(color),
            shut: board.by_color(color) | board.kings(),
            prey: [enemy, enemy & !board.pawns(), rooks, queens],
            promoting: white | black,
            hidden: sight.hidden.white | sight.hidden.black,
        }
    }

    /// The line through the king and a pinned unit.
    fn pin_line(&self, from: Square) -> Bitboard {
        self.king
            .map_or(Bitboard::FULL, |king| attacks::ray(king, from))
    }

    /// Safe squares among the reach of a knight, bishop, rook or queen.
    ///
    /// Cheap tests settle most squares before any exchange is played out: not attacked; the
    /// capture pays for the unit; an attacker so cheap that the unit is lost even if the
    /// attacker is taken in turn; and, where no unit can join from behind, not defended by
    /// another unit, or defended and attacked just once.
    #[inline]
    fn safe(&self, from: Square, role: Role, reach: Bitboard) -> Bitboard {
        let theirs = self.sight.control.get(!self.color);
        let attacked = theirs.all | self.sight.behind(from, !self.color);
        let mut safe = reach & !attacked;
        let mut rest = reach & attacked;
        if rest.is_empty() {
            return safe;
        }
        let [pawns, minors, rooks, queens] = self.prey;
        let plain = !self.promoting;
        let (pays, hangs) = match role {
            Role::Knight | Role::Bishop => (minors, theirs.pawn),
            Role::Rook => (rooks, theirs.pawn | (theirs.minor & !minors)),
            _ => (queens, theirs.pawn | theirs.minor | (theirs.rook & !rooks)),
        };
        safe |= rest & pays & plain;
        rest &= !((pays | hangs) & plain);
        if rest.is_empty() {
            return safe;
        }
        // Whoever stands on the board now is all that can take part.
        let settled = plain & !self.hidden & !self.sight.beyond(from);
        // The unit itself attacks the square: a second attacker defends it there.
        let ours = self.sight.control.get(self.color);
        let open = rest & settled;
        safe |= open & ours.twice & !theirs.twice;
        rest &= !(open & !(ours.twice & theirs.twice));
        let worth = value(role);
        let occupied = self.sight.board.occupied().without(from);
        for to in rest {
            let gain = if pawns.contains(to) {
                self.sight.board.role_at(to).map_or(0, value)
            } else {
                0
            };
            if self.holds(to, worth, gain, occupied, settled) {
                safe |= Bitboard::from_square(to);
            }
        }
        safe
    }

    /// Whether going to a square pays, played out by the shorter way where it is among the
    /// `settled` squares, on which nobody can join from behind.
    #[inline]
    fn holds(
        &self,
        to: Square,
        worth: i32,
        gain: i32,
        occupied: Bitboard,
        settled: Bitboard,
    ) -> bool {
        let exchange = Exchange::on(&self.sight.board, to);
        if settled.contains(to) {
            exchange.holds_in_the_open(self.color, worth, gain, occupied)
        } else {
            exchange.holds(self.color, worth, gain, occupied)
        }
    }

    /// Reach and safe squares of a pawn.
    fn pawn(&self, rules: Rules<'_>, from: Square, pinned: Bitboard) -> Measured {
        let sight = self.sight;
        let seen = sight.attacks(from);
        let pushes = pawn_pushes(self.color, from, !sight.board.occupied());
        let mut reach = pushes | (seen & self.prey[0]);
        if pinned.contains(from) {
            reach &= self.pin_line(from);
        }
        let mut safe = self.safe_pawn(from, reach);
        if let Some(to) = rules.en_passant
            && rules.turn == self.color
            && seen.contains(to)
            && en_passant_is_open(sight, self.color, from, to)
        {
            // A pawn for a pawn at worst.
            reach |= Bitboard::from_square(to);
            safe |= Bitboard::from_square(to);
        }
        Measured { reach, safe }
    }

    /// Safe squares among the reach of a pawn, en passant left out.
    fn safe_pawn(&self, from: Square, reach: Bitboard) -> Bitboard {
        let theirs = self.sight.control.get(!self.color);
        let attacked = theirs.all | self.sight.behind(from, !self.color);
        // A capture is a pawn for a pawn at worst; so is one that promotes, as the other
        // side's pawns cannot capture on this side's last row.
        let mut safe = reach & (self.prey[0] | !attacked);
        let mut rest = reach & !safe;
        if rest.is_empty() {
            return safe;
        }
        let last = Bitboard::from(self.color.relative_rank(Rank::Eighth));
        let settled = !last & !self.hidden & !self.sight.beyond(from);
        // A pawn does not attack the square it is pushed to: any attacker defends it there.
        let ours = self.sight.control.get(self.color);
        let open = rest & settled;
        safe |= open & ours.all & !theirs.twice;
        rest &= !(open & !(ours.all & theirs.twice));
        let occupied = self.sight.board.occupied().without(from);
        for to in rest {
            let (worth, gain) = if last.contains(to) {
                (value(Role::Queen), PROMOTION_RISE)
            } else {
                (value(Role::Pawn), 0)
            };
            if self.holds(to, worth, gain, occupied, settled) {
                safe |= Bitboard::from_square(to);
            }
        }
        safe
    }
}

/// The two squares in front of a pawn.
#[inline]
fn ahead(color: Color, from: Square) -> Bitboard {
    let pawn = Bitboard::from_square(from);
    match color {
        Color::White => pawn.shift(8) | pawn.shift(16),
        Color::Black => pawn.shift(-8) | pawn.shift(-16),
    }
}

/// Squares a pawn may be pushed to.
#[inline]
fn pawn_pushes(color: Color, from: Square, empty: Bitboard) -> Bitboard {
    let pawn = Bitboard::from_square(from);
    match color {
        Color::White => {
            let one = pawn.shift(8) & empty;
            one | ((one & Rank::Third).shift(8) & empty)
        }
        Color::Black => {
            let one = pawn.shift(-8) & empty;
            one | ((one & Rank::Sixth).shift(-8) & empty)
        }
    }
}

fn passed_pawn(from: Square, to: Square) -> Square {
    Square::from_coords(to.file(), from.rank())
}

fn after_en_passant(sight: &Sight, from: Square, to: Square) -> Bitboard {
    sight
        .board
        .occupied()
        .without(from)
        .without(passed_pawn(from, to))
        .with(to)
}

/// Whether capturing en passant opens no new line to the own king.
fn en_passant_is_open(sight: &Sight, color: Color, from: Square, to: Square) -> bool {
    let Some(king) = sight.board.king_of(color) else {
        return true;
    };
    let sliders = sight.board.sliders();
    let before = sight.board.attacks_to(king, !color, sight.board.occupied());
    let after = sight
        .board
        .attacks_to(king, !color, after_en_passant(sight, from, to));
    (after & sliders & !before).is_empty()
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
    let lifted = sight.control.get(!color).all | sight.behind(king, !color);
    if (way & lifted).any() {
        return false;
    }
    // The destination is judged with the rook in its new place.
    let after = occupied
        .without(king)
        .without(rook)
        .with(side.rook_to(color));
    sight.board.attacks_to(to, !color, after).is_empty()
}
