//! The identity of units: who stands where, since when (definitions, section 2).

use shakmaty::{Bitboard, Board, CastlingSide, Color, Move, Rank, Role, Square};

/// Units a game can hold: 32 at the start and at most one promotion for each of 16 pawns.
pub const MAX_UNITS: usize = 48;

/// Number of a unit in its game.
pub type Slot = u8;

const NOBODY: Slot = Slot::MAX;

/// What a ply did to the units on the board.
#[derive(Clone, Copy, Debug)]
pub struct Change {
    /// The unit that moved (the king in castling, the pawn in a promotion).
    pub mover: Slot,
    /// Squares left and reached by the units that went on living: the mover (unless it
    /// promoted) and the rook in castling.
    pub paths: [Option<(Square, Square)>; 2],
    /// The unit that was captured, and where it stood.
    pub captured: Option<(Slot, Square)>,
    /// The piece born by promotion.
    pub born: Option<Slot>,
    /// Squares whose occupant is another one now.
    pub squares: Bitboard,
}

/// All units of a game, from its first position to the present one.
#[derive(Clone)]
pub struct Roster {
    at: [Slot; 64],
    kind: [Role; MAX_UNITS],
    color: [Color; MAX_UNITS],
    square: [Square; MAX_UNITS],
    /// Position at which the unit came to be: 0, or the ply of its promotion.
    birth: [u16; MAX_UNITS],
    /// Last ply by which it moved or was born; 0 where it has not moved.
    moved: [u16; MAX_UNITS],
    /// Whether it counts as developed without having moved.
    off_home: [bool; MAX_UNITS],
    /// Ply by which it was captured or promoted; 0 while it is on the board.
    gone: [u16; MAX_UNITS],
    len: usize,
}

impl Default for Roster {
    fn default() -> Self {
        Roster {
            at: [NOBODY; 64],
            kind: [Role::Pawn; MAX_UNITS],
            color: [Color::White; MAX_UNITS],
            square: [Square::A1; MAX_UNITS],
            birth: [0; MAX_UNITS],
            moved: [0; MAX_UNITS],
            off_home: [false; MAX_UNITS],
            gone: [0; MAX_UNITS],
            len: 0,
        }
    }
}

impl Roster {
    /// Numbers the units of a start position. Units beyond the 32nd are left out; such a
    /// position is refused before it gets here.
    pub fn begin(&mut self, board: &Board) {
        self.at = [NOBODY; 64];
        self.len = 0;
        for (square, piece) in board.iter().take(32) {
            let home = piece.color.relative_rank(Rank::First);
            self.add(piece.role, piece.color, square, 0);
            self.off_home[self.len - 1] = square.rank() != home;
        }
    }

    fn add(&mut self, kind: Role, color: Color, square: Square, birth: u16) {
        let slot = self.len.min(MAX_UNITS - 1);
        self.kind[slot] = kind;
        self.color[slot] = color;
        self.square[slot] = square;
        self.birth[slot] = birth;
        self.moved[slot] = birth;
        self.off_home[slot] = birth > 0;
        self.gone[slot] = 0;
        self.at[square.to_usize()] = slot as Slot;
        self.len = slot + 1;
    }

    /// Number of units so far.
    pub fn len(&self) -> usize {
        self.len
    }

    /// Whether there are no units.
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// Unit on an occupied square.
    #[inline]
    pub fn at(&self, square: Square) -> Slot {
        self.at[square.to_usize()]
    }

    /// Kind of a unit.
    #[inline]
    pub fn kind(&self, slot: Slot) -> Role {
        self.kind[slot as usize]
    }

    /// Owner of a unit.
    #[inline]
    pub fn color(&self, slot: Slot) -> Color {
        self.color[slot as usize]
    }

    /// Where the unit stands, or stood last.
    #[inline]
    pub fn square(&self, slot: Slot) -> Square {
        self.square[slot as usize]
    }

    /// Position at which the unit came to be.
    #[inline]
    pub fn birth(&self, slot: Slot) -> usize {
        self.birth[slot as usize] as usize
    }

    /// Last ply by which it moved or was born; 0 for none.
    #[inline]
    pub fn last_moved(&self, slot: Slot) -> usize {
        self.moved[slot as usize] as usize
    }

    /// Ply by which it left the board; `None` while it is there.
    #[inline]
    pub fn gone(&self, slot: Slot) -> Option<usize> {
        match self.gone[slot as usize] {
            0 => None,
            ply => Some(ply as usize),
        }
    }

    /// Whether it is developed (definitions, section 2).
    #[inline]
    pub fn is_developed(&self, slot: Slot) -> bool {
        self.off_home[slot as usize] || self.moved[slot as usize] > 0
    }

    #[inline]
    fn shift(&mut self, slot: Slot, to: Square, ply: u16) {
        self.square[slot as usize] = to;
        self.moved[slot as usize] = ply;
        self.at[to.to_usize()] = slot;
    }

    /// Follows ply number `ply`.
    pub fn play(&mut self, m: Move, color: Color, ply: u16) -> Change {
        match m {
            Move::Castle { king, rook } => {
                let side = CastlingSide::from_queen_side(rook < king);
                let (king_slot, rook_slot) = (self.at(king), self.at(rook));
                let (king_to, rook_to) = (side.king_to(color), side.rook_to(color));
                self.at[king.to_usize()] = NOBODY;
                self.at[rook.to_usize()] = NOBODY;
                self.shift(king_slot, king_to, ply);
                self.shift(rook_slot, rook_to, ply);
                Change {
                    mover: king_slot,
                    paths: [Some((king, king_to)), Some((rook, rook_to))],
                    captured: None,
                    born: None,
                    squares: Bitboard::from(king).with(rook).with(king_to).with(rook_to),
                }
            }
            _ => {
                let to = m.to();
                let from = m.from().unwrap_or(to);
                let mover = self.at(from);
                let taken_on = match m {
                    Move::EnPassant { from, to } => {
                        Some(Square::from_coords(to.file(), from.rank()))
                    }
                    _ => m.capture().map(|_| to),
                };
                let mut squares = Bitboard::from(from).with(to);
                let captured = taken_on.map(|square| {
                    let slot = self.at(square);
                    self.at[square.to_usize()] = NOBODY;
                    self.gone[slot as usize] = ply;
                    squares |= Bitboard::from(square);
                    (slot, square)
                });
                self.at[from.to_usize()] = NOBODY;
                let born = m.promotion().map(|kind| {
                    self.gone[mover as usize] = ply;
                    self.add(kind, color, to, ply);
                    (self.len - 1) as Slot
                });
                if born.is_none() {
                    self.shift(mover, to, ply);
                }
                Change {
                    mover,
                    paths: [born.is_none().then_some((from, to)), None],
                    captured,
                    born,
                    squares,
                }
            }
        }
    }
}
