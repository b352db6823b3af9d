//! The boards of the lanes that a register holds.

use shakmaty::Role;

use super::lines::Stops;
use super::sheet::Positions;
use super::vector::{Lanes, Row, Vector};

/// The boards of the lanes that a register holds, as sets of squares.
#[derive(Clone, Copy)]
pub struct Planes<S: Lanes> {
    /// Units by kind: pawn, knight, bishop, rook, queen, king.
    kinds: [Vector<S>; 6],
    /// Units of White and Black.
    pub sides: [Vector<S>; 2],
    /// All units.
    pub occupied: Stops<S>,
    /// Rooks that may castle.
    pub castling: Vector<S>,
}

impl<S: Lanes> Planes<S> {
    /// The lanes of a chunk from `first` on.
    #[inline(always)]
    pub fn load(simd: S, positions: &Positions, first: usize) -> Self {
        let sides = [
            load(simd, &positions.sides[0], first),
            load(simd, &positions.sides[1], first),
        ];
        Planes {
            kinds: [
                load(simd, &positions.kinds[0], first),
                load(simd, &positions.kinds[1], first),
                load(simd, &positions.kinds[2], first),
                load(simd, &positions.kinds[3], first),
                load(simd, &positions.kinds[4], first),
                load(simd, &positions.kinds[5], first),
            ],
            sides,
            occupied: Stops::at(sides[0] | sides[1]),
            castling: load(simd, &positions.castling, first),
        }
    }

    /// Units of a kind of both sides.
    #[inline(always)]
    pub fn kind(&self, kind: Role) -> Vector<S> {
        self.kinds[kind as usize - 1]
    }

    /// Units of both sides that move along files and rows, and along diagonals.
    #[inline(always)]
    pub fn sliders(&self) -> [Vector<S>; 2] {
        let queens = self.kind(Role::Queen);
        [
            self.kind(Role::Rook) | queens,
            self.kind(Role::Bishop) | queens,
        ]
    }

    /// Squares without units.
    #[inline(always)]
    pub fn empty(&self) -> Vector<S> {
        !self.occupied.squares
    }

    /// Units of the other side that may be captured.
    #[inline(always)]
    pub fn prey(&self, side: usize) -> Vector<S> {
        self.sides[side ^ 1].and_not(self.kind(Role::King))
    }
}

#[inline(always)]
fn load<S: Lanes>(simd: S, row: &Row, first: usize) -> Vector<S> {
    Vector::load(simd, &row[first..])
}
