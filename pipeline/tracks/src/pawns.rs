//! Reach and safe squares of all pawns of a side at once.
//!
//! No two pawns of a side go to the same square by the same step, so that four sets of
//! squares, one a step, hold where all of them can go.

use hobble_terms::value;
use shakmaty::{Bitboard, Board, Color, Rank, Role, Square, attacks};

use crate::material::PROMOTION_RISE;
use crate::rules::Rules;
use crate::side::{Measured, Side};
use crate::sight::{Sight, pawn_captures};

/// Number of different steps: one row ahead, two rows ahead, a capture towards the a-file,
/// a capture towards the h-file.
const STEPS: usize = 4;
const ONE: usize = 0;
const TWO: usize = 1;
const LEFT: usize = 2;
const RIGHT: usize = 3;

/// Where each step leads from the squares of `pawns`.
#[inline(always)]
fn ahead(color: Color, pawns: Bitboard) -> [Bitboard; STEPS] {
    let (left, right) = pawn_captures(color, pawns);
    match color {
        Color::White => [Bitboard(pawns.0 << 8), Bitboard(pawns.0 << 16), left, right],
        Color::Black => [Bitboard(pawns.0 >> 8), Bitboard(pawns.0 >> 16), left, right],
    }
}

/// Squares that pawns of one side arrive on, by step.
#[derive(Clone, Copy, Default, Debug, PartialEq, Eq)]
pub struct Steps([Bitboard; STEPS]);

impl Steps {
    /// From the squares one row ahead, two rows ahead, and captures towards the a-file and
    /// towards the h-file.
    pub const fn new(squares: [Bitboard; STEPS]) -> Steps {
        Steps(squares)
    }

    /// Squares of the pawn on `from`.
    #[inline]
    pub fn of(&self, color: Color, from: Square) -> Bitboard {
        let lead = ahead(color, Bitboard::from_square(from));
        let own = |step: usize| self.0[step] & lead[step];
        own(0) | own(1) | own(2) | own(3)
    }
}

/// Reach and safe squares of the pawns of one side.
#[derive(Clone, Copy, Default, Debug, PartialEq, Eq)]
pub struct Pawns {
    /// Squares they could go to.
    pub reach: Steps,
    /// Those of them that are safe.
    pub safe: Steps,
}

impl Pawns {
    /// What was measured of the pawn on `from`.
    #[inline]
    pub fn of(&self, color: Color, from: Square) -> Measured {
        Measured {
            reach: self.reach.of(color, from),
            safe: self.safe.of(color, from),
        }
    }

    /// Measures the pawns of a side.
    pub fn measured(side: &Side<'_>, rules: Rules<'_>) -> Pawns {
        // Told apart here, so that all shifts below are by constants.
        match side.color {
            Color::White => Pawns::of_side(side, rules, Color::White),
            Color::Black => Pawns::of_side(side, rules, Color::Black),
        }
    }

    #[inline(always)]
    fn of_side(side: &Side<'_>, rules: Rules<'_>, color: Color) -> Pawns {
        let sight = side.sight;
        let board = &sight.board;
        let pawns = board.by_color(color) & board.pawns();
        let empty = !board.occupied();
        let lead = ahead(color, pawns);
        let one = lead[ONE] & empty;
        let third = Bitboard::from(color.relative_rank(Rank::Third));
        let two = ahead(color, one & third)[ONE] & empty;
        let mut reach = [one, two, lead[LEFT] & side.prey, lead[RIGHT] & side.prey];
        for from in pawns & *sight.pinned.get(color) {
            let line = side.pin_line(from);
            let own = ahead(color, Bitboard::from_square(from));
            for (squares, own) in reach.iter_mut().zip(own) {
                *squares &= !own | line;
            }
        }
        // A capture is a pawn for a pawn at worst; so is one that promotes, as the other
        // side's pawns cannot capture on this side's last row.
        let mut safe = reach;
        let open = Pushes::new(sight, color, pawns);
        for step in [ONE, TWO] {
            safe[step] = reach[step] & open.safe[step];
            for to in reach[step] & !(open.safe[step] | open.lost[step]) {
                safe[step].set(to, open.holds(side, to, step));
            }
        }
        if let Some(to) = rules.en_passant
            && rules.turn == color
        {
            for from in pawns & attacks::pawn_attacks(!color, to) {
                if en_passant_is_open(board, color, from, to) {
                    let own = ahead(color, Bitboard::from_square(from));
                    for step in [LEFT, RIGHT] {
                        let to = own[step] & Bitboard::from_square(to);
                        reach[step] |= to;
                        safe[step] |= to;
                    }
                }
            }
        }
        Pawns {
            reach: Steps(reach),
            safe: Steps(safe),
        }
    }
}

/// What decides whether a pawn is safe where it is pushed to: squares by step, one row and
/// two rows ahead.
struct Pushes {
    color: Color,
    /// Squares settled as safe: not attacked; a defender so cheap that no attacker can pay;
    /// defended and attacked just once, with nobody to join from behind.
    safe: [Bitboard; 2],
    /// Squares settled as not safe: attacked, and nobody to defend.
    lost: [Bitboard; 2],
    /// Squares where somebody may join from behind.
    joins: [Bitboard; 2],
}

impl Pushes {
    #[inline(always)]
    fn new(sight: &Sight, color: Color, pawns: Bitboard) -> Pushes {
        let board = &sight.board;
        let (ours, theirs) = (sight.control.get(color), sight.control.get(!color));
        let (we, they) = (*sight.hidden.get(color), *sight.hidden.get(!color));
        let last = Bitboard::from(color.relative_rank(Rank::Eighth));
        // Pawns with a rook or queen right behind them: a line that opens as they go. With
        // few rooks and queens about, hardly ever any.
        let followed = pawns & first_ahead(color, board.rooks_and_queens(), !board.occupied());
        let chased = followed & behind_enemy(sight, color, followed);
        let (followed, chased) = (ahead(color, followed), ahead(color, chased));
        // Each attacker, rooks from behind included, is worth as much as the pawn and its
        // cheapest defender together: capturing cannot pay.
        let guarded = !last & !theirs.pawn & (ours.pawn | (ours.minor & !theirs.minor));
        let mut pushes = Pushes {
            color,
            safe: [Bitboard::EMPTY; 2],
            lost: [Bitboard::EMPTY; 2],
            joins: [Bitboard::EMPTY; 2],
        };
        for step in [ONE, TWO] {
            let follow = last | followed[step];
            let attacked = theirs.all | chased[step];
            // A pawn does not attack the square it is pushed to: any attacker defends it there.
            let backed = ours.all & !theirs.twice & !(they | follow);
            pushes.safe[step] = !attacked | backed | guarded;
            pushes.lost[step] = attacked & !(ours.all | we | follow);
            pushes.joins[step] = we | they | follow;
        }
        pushes
    }

    /// Plays out the captures on a square that is not settled.
    fn holds(&self, side: &Side<'_>, to: Square, step: usize) -> bool {
        // Where the push came from.
        let from = ahead(!self.color, Bitboard::from_square(to))[step];
        let (worth, gain) = if to.rank() == self.color.relative_rank(Rank::Eighth) {
            (value(Role::Queen), PROMOTION_RISE)
        } else {
            (value(Role::Pawn), 0)
        };
        let occupied = side.sight.board.occupied() & !from;
        side.holds(to, worth, gain, occupied, !self.joins[step].contains(to))
    }
}

/// Those of the pawns, each with a rook or queen right behind it, where that is an enemy's.
#[inline]
fn behind_enemy(sight: &Sight, color: Color, followed: Bitboard) -> Bitboard {
    let board = &sight.board;
    if followed.is_empty() {
        return followed;
    }
    let enemy = board.rooks_and_queens() & board.by_color(!color);
    first_ahead(color, enemy, !board.occupied())
}

/// First occupied squares met going ahead from `sources` over `empty` ones.
#[inline(always)]
fn first_ahead(color: Color, sources: Bitboard, empty: Bitboard) -> Bitboard {
    let (mut seen, mut way) = (sources.0, empty.0);
    match color {
        Color::White => {
            seen |= way & (seen << 8);
            way &= way << 8;
            seen |= way & (seen << 16);
            way &= way << 16;
            seen |= way & (seen << 32);
            Bitboard(seen << 8)
        }
        Color::Black => {
            seen |= way & (seen >> 8);
            way &= way >> 8;
            seen |= way & (seen >> 16);
            way &= way >> 16;
            seen |= way & (seen >> 32);
            Bitboard(seen >> 8)
        }
    }
}

/// The pawn that is captured en passant.
#[inline]
pub fn passed_pawn(from: Square, to: Square) -> Square {
    Square::from_coords(to.file(), from.rank())
}

/// Occupied squares after a capture en passant.
pub fn after_en_passant(board: &Board, from: Square, to: Square) -> Bitboard {
    board
        .occupied()
        .without(from)
        .without(passed_pawn(from, to))
        .with(to)
}

/// Whether capturing en passant opens no new line to the own king.
pub(crate) fn en_passant_is_open(board: &Board, color: Color, from: Square, to: Square) -> bool {
    let Some(king) = board.king_of(color) else {
        return true;
    };
    let before = board.attacks_to(king, !color, board.occupied());
    let after = board.attacks_to(king, !color, after_en_passant(board, from, to));
    (after & board.sliders() & !before).is_empty()
}
