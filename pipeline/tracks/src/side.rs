//! One side as its units see the board, and which of their squares are safe.

use shakmaty::{Bitboard, Color, Rank, Role, Square, attacks};

use crate::exchange::Exchange;
use crate::material::value;
use crate::sight::Sight;

/// One side as its units see the board.
pub struct Side<'a> {
    /// The board and what is attacked on it.
    pub sight: &'a Sight,
    /// The side.
    pub color: Color,
    /// Its king.
    pub king: Option<Square>,
    /// Own units and the enemy king: never a destination.
    pub shut: Bitboard,
    /// Enemy units worth at least 1, 3, 5, 9.
    pub prey: [Bitboard; 4],
    /// Squares of the last rows where a pawn may promote by capturing.
    promoting: Bitboard,
}

impl<'a> Side<'a> {
    /// The side of a colour.
    #[inline]
    pub fn new(sight: &'a Sight, color: Color) -> Side<'a> {
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
        }
    }

    /// The line through the king and a pinned unit.
    #[inline]
    pub fn pin_line(&self, from: Square) -> Bitboard {
        self.king
            .map_or(Bitboard::FULL, |king| attacks::ray(king, from))
    }

    /// Safe squares among the reach of a knight, bishop, rook or queen.
    ///
    /// Cheap tests settle most squares before any exchange is played out: not attacked; the
    /// capture pays for the unit; an attacker so cheap that the unit is lost even if the
    /// attacker is taken in turn; defended by no other unit, and none can join from behind;
    /// defended and attacked just once, and no attacker can join from behind.
    #[inline]
    pub fn safe(&self, from: Square, role: Role, reach: Bitboard) -> Bitboard {
        let sight = self.sight;
        let theirs = sight.control.get(!self.color);
        let mut attacked = theirs.all;
        // Lines that open behind the unit as it goes.
        let mut opened = Bitboard::EMPTY;
        for slider in sight.followers(from, role) {
            let away = sight.away(slider, from);
            opened |= away;
            if !sight.board.by_color(self.color).contains(slider) {
                attacked |= away;
            }
        }
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
        // The unit itself attacks the square: a second attacker defends it there.
        let ours = sight.control.get(self.color);
        let [we, they] =
            [self.color, !self.color].map(|color| *sight.hidden.get(color) | opened);
        let bare = rest & plain & !ours.twice & !we;
        let backed = rest & plain & ours.twice & !theirs.twice & !they;
        safe |= backed;
        rest &= !(bare | backed);
        let worth = value(role);
        let occupied = sight.board.occupied().without(from);
        let settled = plain & !(we | they);
        for to in rest {
            let gain = if pawns.contains(to) {
                sight.board.role_at(to).map_or(0, value)
            } else {
                0
            };
            if self.holds(to, worth, gain, occupied, settled.contains(to)) {
                safe |= Bitboard::from_square(to);
            }
        }
        safe
    }

    /// Whether going to a square pays, played out by the shorter way where the square is
    /// `settled`: nobody can join from behind there.
    #[inline]
    pub fn holds(
        &self,
        to: Square,
        worth: i32,
        gain: i32,
        occupied: Bitboard,
        settled: bool,
    ) -> bool {
        let exchange = Exchange::on(&self.sight.board, to);
        if settled {
            exchange.holds_in_the_open(self.color, worth, gain, occupied)
        } else {
            exchange.holds(self.color, worth, gain, occupied)
        }
    }
}
