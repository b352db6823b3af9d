//! One side as its units see the board, and which of their squares are safe.

use hobble_terms::value;
use shakmaty::{Bitboard, Color, Rank, Role, Square, attacks};

use crate::exchange::Exchange;
use crate::sight::Sight;

/// Reach and safe squares of one unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measured {
    /// Squares it could go to.
    pub reach: Bitboard,
    /// Those of them that are safe.
    pub safe: Bitboard,
}

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
    /// Enemy units, the king left out.
    pub prey: Bitboard,
    /// Squares where a capture pays for a piece worth 3, 5, 9 whatever follows.
    pays: [Bitboard; 3],
    /// Squares where an attacker is so cheap that a piece worth 3, 5, 9 is lost even if the
    /// attacker is taken in turn.
    hangs: [Bitboard; 3],
    /// Squares where each attacker is worth as much as a piece worth 3, 5, 9 and its cheapest
    /// defender together: capturing cannot pay.
    guarded: [Bitboard; 3],
    /// Squares where no pawn of either side may promote by capturing.
    plain: Bitboard,
}

impl<'a> Side<'a> {
    /// The side of a colour.
    #[inline]
    pub fn new(sight: &'a Sight, color: Color) -> Side<'a> {
        let board = &sight.board;
        let (ours, theirs) = (sight.control.get(color), sight.control.get(!color));
        let prey = board.by_color(!color) & !board.kings();
        let pieces = prey & !board.pawns();
        let queens = prey & board.queens();
        let rooks = queens | (prey & board.rooks());
        let promoting =
            (sight.control.white.pawn & Rank::Eighth) | (sight.control.black.pawn & Rank::First);
        Side {
            sight,
            color,
            king: board.king_of(color),
            shut: board.by_color(color) | board.kings(),
            prey,
            pays: [pieces, rooks, queens],
            hangs: [
                theirs.pawn,
                theirs.pawn | (theirs.minor & !pieces),
                theirs.pawn | theirs.minor | (theirs.rook & !rooks),
            ],
            guarded: [
                ours.pawn & !(theirs.pawn | theirs.minor),
                (ours.pawn | ours.minor) & !(theirs.pawn | theirs.minor | theirs.rook),
                Bitboard::EMPTY,
            ],
            plain: !promoting,
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
    /// attacker is taken in turn; a defender so cheap that no attacker can pay for unit and
    /// defender; defended by no other unit, and none can join from behind; defended and
    /// attacked just once, and no attacker can join from behind.
    #[inline(never)] // A place of its own in profiles.
    pub fn safe(&self, from: Square, role: Role, reach: Bitboard) -> Bitboard {
        let Side { sight, plain, .. } = *self;
        let (ours, theirs) = (
            sight.control.get(self.color),
            sight.control.get(!self.color),
        );
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
        let we = *sight.hidden.get(self.color) | opened;
        let they = *sight.hidden.get(!self.color) | opened;
        let rank = match role {
            Role::Knight | Role::Bishop => 0,
            Role::Rook => 1,
            _ => 2,
        };
        let (pays, hangs) = (self.pays[rank], self.hangs[rank]);
        // The unit itself attacks the square: a second attacker defends it there.
        let bare = !ours.twice & !we;
        let backed = (self.guarded[rank] & !opened) | (ours.twice & !theirs.twice & !they);
        let mut safe = reach & (!attacked | (plain & (pays | (backed & !hangs))));
        let rest = reach & attacked & !(plain & (pays | hangs | bare | backed));
        for to in rest {
            let gain = if self.prey.contains(to) {
                value(sight.role(to))
            } else {
                0
            };
            let occupied = sight.board.occupied().without(from);
            let settled = (plain & !(we | they)).contains(to);
            if self.holds(to, value(role), gain, occupied, settled) {
                safe |= Bitboard::from_square(to);
            }
        }
        safe
    }

    /// Whether going to a square pays, played out by the shorter way where the square is
    /// `settled`: nobody can join from behind there.
    #[inline(never)] // A place of its own in profiles.
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
