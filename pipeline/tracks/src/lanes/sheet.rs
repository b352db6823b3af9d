//! Eight consecutive positions of a game, and what is measured of each unit in them.

use shakmaty::{Bitboard, CastlingMode, Chess, Color, EnPassantMode, Position, Role, Square};

use super::vector::{CHUNK, Row};
use crate::roster::{MAX_UNITS, Slot};

/// Number of a square for units that are not on the board.
pub const GONE: u8 = 64;

/// The positions of the chunk before that are kept stand in front of a chunk's own.
pub const BEFORE: usize = CHUNK;

/// Numbers by position: those of the last chunk, then those of this one. Only the last two
/// of the former are kept.
pub type History<T> = [T; BEFORE + CHUNK];

/// Eight consecutive positions as sets of squares.
#[derive(Default)]
pub struct Positions {
    /// Units by kind: pawn, knight, bishop, rook, queen, king.
    pub kinds: [Row; 6],
    /// Units of White and Black.
    pub sides: [Row; 2],
    /// Rooks that may castle, in games by the usual rules.
    pub castling: Row,
    /// A bit for each lane with a square for en passant.
    pub en_passant: u8,
    /// Whether castling goes by the rules of Chess960.
    pub chess960: bool,
}

impl Positions {
    /// Takes up to eight positions; where there are fewer, the last is repeated.
    pub fn take(&mut self, positions: &[Chess]) {
        self.en_passant = 0;
        let last = positions.len().saturating_sub(1);
        for lane in 0..CHUNK {
            let Some(position) = positions.get(lane.min(last)) else {
                return;
            };
            let board = position.board();
            for (row, role) in self.kinds.iter_mut().zip(Role::ALL) {
                row[lane] = board.by_role(role).0;
            }
            self.sides[0][lane] = board.white().0;
            self.sides[1][lane] = board.black().0;
            let castles = position.castles();
            self.chess960 = castles.mode() == CastlingMode::Chess960;
            self.castling[lane] = match self.chess960 {
                true => 0,
                false => castles.castling_rights().0,
            };
            let passed = lane <= last && position.ep_square(EnPassantMode::Always).is_some();
            self.en_passant |= u8::from(passed) << lane;
        }
    }
}

/// Slots of one kind and side that are on the board in a chunk.
#[derive(Clone, Copy)]
pub struct List {
    len: u8,
    slots: [Slot; MAX_UNITS],
}

impl List {
    const EMPTY: List = List {
        len: 0,
        slots: [0; MAX_UNITS],
    };

    /// Number of slots.
    #[inline(always)]
    pub fn count(&self) -> usize {
        usize::from(self.len).min(MAX_UNITS)
    }

    /// The slot of a number below [`List::count`].
    #[inline(always)]
    pub fn slot(&self, nth: usize) -> usize {
        usize::from(self.slots[nth]).min(MAX_UNITS - 1)
    }

    /// The first slot.
    #[inline(always)]
    pub fn first(&self) -> Option<usize> {
        (self.len > 0).then(|| self.slot(0))
    }

    /// All slots.
    #[inline(always)]
    pub fn slots(&self) -> &[Slot] {
        &self.slots[..self.count()]
    }

    #[inline]
    fn push(&mut self, slot: Slot) {
        if let Some(place) = self.slots.get_mut(usize::from(self.len)) {
            *place = slot;
            self.len += 1;
        }
    }
}

/// Units of a game by slot, and what is measured of them in eight consecutive positions.
///
/// Numbers and sets of squares are by slot and lane; pawns' squares by side and step: one row
/// ahead, two rows ahead, a capture towards the a-file, one towards the h-file.
#[repr(align(64))]
pub struct Sheet {
    /// Squares of the units; [`GONE`] where they are not on the board.
    pub squares: [History<u8>; MAX_UNITS],
    /// Slots by side and kind, of units on the board in this chunk or just before it.
    pub lists: [[List; 6]; 2],
    /// Squares that knights, bishops, rooks, queens and kings could go to.
    pub reach: [Row; MAX_UNITS],
    /// Those of them that are safe.
    pub safe: [History<u64>; MAX_UNITS],
    /// Their number.
    pub counts: [History<u8>; MAX_UNITS],
    /// Those that sets do not settle.
    pub open: [Row; MAX_UNITS],
    /// Lanes with open squares.
    pub open_lanes: [u8; MAX_UNITS],
    /// Squares where an enemy slider, or an own one of other lines, follows a slider that goes.
    pub followed: [[Row; 2]; MAX_UNITS],
    /// Squares that pawns could go to.
    pub pawn_reach: [[Row; 4]; 2],
    /// Those of them that are safe.
    pub pawn_safe: [[History<u64>; 4]; 2],
    /// Those that sets do not settle; one and two rows ahead.
    pub pawn_open: [[Row; 2]; 2],
    /// Lanes with such squares.
    pub pawn_open_lanes: [[u8; 2]; 2],
    /// Squares that each side attacks.
    pub attacked: [History<u64>; 2],
    /// Units of each side that stand pinned.
    pub pinned: [History<u64>; 2],
    /// Sums over the units of a side.
    pub sums: [SideSums; 2],
}

/// Sums over the units of a side, by lane.
#[derive(Clone, Copy)]
pub struct SideSums {
    /// Squares that units had at the position before and have no more. A unit counts with no
    /// squares at positions where it is not on the board, and so does a pawn that moved, on
    /// each of its two squares.
    pub taken: Row,
    /// Squares that units have and did not have at the position before; likewise.
    pub given: Row,
    /// Squares of all reaches.
    pub reach: Row,
    /// Safe squares by kind.
    pub safe: [[u8; CHUNK]; 6],
}

impl Default for Sheet {
    fn default() -> Self {
        const SUMS: SideSums = SideSums {
            taken: [0; CHUNK],
            given: [0; CHUNK],
            reach: [0; CHUNK],
            safe: [[0; CHUNK]; 6],
        };
        Sheet {
            squares: [[GONE; BEFORE + CHUNK]; MAX_UNITS],
            lists: [[List::EMPTY; 6]; 2],
            reach: [[0; CHUNK]; MAX_UNITS],
            safe: [[0; BEFORE + CHUNK]; MAX_UNITS],
            counts: [[0; BEFORE + CHUNK]; MAX_UNITS],
            open: [[0; CHUNK]; MAX_UNITS],
            open_lanes: [0; MAX_UNITS],
            followed: [[[0; CHUNK]; 2]; MAX_UNITS],
            pawn_reach: [[[0; CHUNK]; 4]; 2],
            pawn_safe: [[[0; BEFORE + CHUNK]; 4]; 2],
            pawn_open: [[[0; CHUNK]; 2]; 2],
            pawn_open_lanes: [[0; 2]; 2],
            attacked: [[0; BEFORE + CHUNK]; 2],
            pinned: [[0; BEFORE + CHUNK]; 2],
            sums: [SUMS; 2],
        }
    }
}

impl Sheet {
    /// Starts a game.
    pub fn begin(&mut self) {
        self.squares = [[GONE; BEFORE + CHUNK]; MAX_UNITS];
        self.safe = [[0; BEFORE + CHUNK]; MAX_UNITS];
        self.counts = [[0; BEFORE + CHUNK]; MAX_UNITS];
        self.pawn_safe = [[[0; BEFORE + CHUNK]; 4]; 2];
        self.attacked = [[0; BEFORE + CHUNK]; 2];
        self.pinned = [[0; BEFORE + CHUNK]; 2];
    }

    /// Goes on to the next chunk: its last two positions come to stand before it, and the
    /// units of `slots` numbers stay where they are.
    pub fn advance(&mut self, slots: usize) {
        for squares in self.squares.iter_mut().take(slots) {
            let [.., before, last] = *squares;
            squares[BEFORE - 2] = before;
            squares[BEFORE - 1..].fill(last);
        }
        for list in self.lists.iter().flatten() {
            for &slot in list.slots() {
                keep_last(&mut self.safe[usize::from(slot)]);
                keep_last(&mut self.counts[usize::from(slot)]);
            }
        }
        self.pawn_safe.iter_mut().flatten().for_each(keep_last);
        self.attacked.iter_mut().for_each(keep_last);
        self.pinned.iter_mut().for_each(keep_last);
    }

    /// Puts a unit on a square (or [`GONE`]) from a position of the chunk on.
    #[inline]
    pub fn place(&mut self, slot: Slot, at: usize, square: u8) {
        self.squares[usize::from(slot)][at..].fill(square);
    }

    /// Forgets which lanes have open squares.
    pub fn clear_open(&mut self) {
        self.open_lanes = [0; MAX_UNITS];
        self.pawn_open_lanes = [[0; 2]; 2];
    }

    /// Sets the units of a chunk, of which `kind_of` knows kind and owner: those of `slots`
    /// numbers that are on the board in it or at the position before.
    pub fn list(&mut self, slots: usize, kind_of: impl Fn(Slot) -> (Role, Color)) {
        for list in self.lists.iter_mut().flatten() {
            list.len = 0;
        }
        for (slot, squares) in self.squares.iter().take(slots).enumerate() {
            // Without a branch for each lane.
            let gone = squares[BEFORE - 1..].iter().map(|&square| square ^ GONE);
            if gone.fold(0, |any, other| any | other) != 0 {
                let (role, color) = kind_of(slot as Slot);
                self.lists[color.fold_wb(0, 1)][role as usize - 1].push(slot as Slot);
            }
        }
    }

    /// Where a unit stands at a position of the chunk; `None` where it is not on the board.
    #[inline]
    pub fn square(&self, slot: Slot, at: usize) -> Option<Square> {
        Square::try_from(self.squares[usize::from(slot)][at]).ok()
    }

    /// Safe squares of a knight, bishop, rook, queen or king.
    #[inline]
    pub fn safe(&self, slot: Slot, at: usize) -> Bitboard {
        Bitboard(self.safe[usize::from(slot)][at])
    }
}

/// Moves the last two positions of a chunk in front of the next.
#[inline(always)]
fn keep_last<T: Copy>(history: &mut History<T>) {
    history[BEFORE - 2] = history[BEFORE + CHUNK - 2];
    history[BEFORE - 1] = history[BEFORE + CHUNK - 1];
}
