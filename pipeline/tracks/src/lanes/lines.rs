//! Where units see to, for one unit in several positions at once.
//!
//! A line is filled from a square up to and with the first occupied one by a subtraction that
//! borrows through the empty squares; downwards the same is done on the board upside down.
//! (Files and diagonals: a byte holds one square of each, so that the board upside down is the
//! bytes in reverse. Rows lie within a byte and are filled by shifts.)

use super::vector::{Lanes, Vector};

const FILE_A: u64 = 0x0101_0101_0101_0101;
const ROW_1: u64 = 0xff;
/// a1 to h8.
const RISING: u64 = 0x8040_2010_0804_0201;
/// h1 to a8.
const FALLING: u64 = 0x0102_0408_1020_4080;

/// All files but the first or first two, or last or last two.
pub const NOT_A: u64 = !FILE_A;
pub const NOT_H: u64 = !(FILE_A << 7);
const NOT_AB: u64 = !(FILE_A | FILE_A << 1);
const NOT_GH: u64 = !(FILE_A << 6 | FILE_A << 7);

/// Squares that stop lines, both ways up.
#[derive(Clone, Copy)]
pub struct Stops<S: Lanes> {
    /// As the board stands.
    pub squares: Vector<S>,
    flipped: Vector<S>,
}

impl<S: Lanes> Stops<S> {
    #[inline(always)]
    pub fn at(squares: Vector<S>) -> Self {
        let flipped = squares.flip();
        Stops { squares, flipped }
    }
}

/// What is seen along a line: towards h8 and towards a1 (on files and rows: up or to the right,
/// down or to the left), with the first stop.
#[derive(Clone, Copy)]
pub struct Ways<S: Lanes> {
    pub up: Vector<S>,
    pub down: Vector<S>,
}

impl<S: Lanes> Ways<S> {
    #[inline(always)]
    pub fn both(self) -> Vector<S> {
        self.up | self.down
    }

    /// Squares seen on the other side of one of `units` that is seen.
    #[inline(always)]
    pub fn across(self, units: Vector<S>) -> Vector<S> {
        (self.up & units).where_any(self.down) | (self.down & units).where_any(self.up)
    }
}

/// A square of each lane; lanes with 64 have none and see nothing.
#[derive(Clone, Copy)]
pub struct Origin<S: Lanes> {
    number: Vector<S>,
    /// The square as a set.
    pub square: Vector<S>,
    /// What is subtracted: the square's bit doubled, both ways up.
    borrow: Vector<S>,
    borrow_flipped: Vector<S>,
}

/// A file or diagonal through a square, both ways up.
#[derive(Clone, Copy)]
pub struct Column<S: Lanes> {
    squares: Vector<S>,
    flipped: Vector<S>,
}

impl<S: Lanes> Column<S> {
    #[inline(always)]
    fn of(squares: Vector<S>) -> Self {
        let flipped = squares.flip();
        Column { squares, flipped }
    }
}

/// A row through a square.
#[derive(Clone, Copy)]
pub struct Flat<S: Lanes> {
    squares: Vector<S>,
    /// Its squares to the left.
    left: Vector<S>,
}

impl<S: Lanes> Origin<S> {
    /// From the numbers of squares, one a lane.
    #[inline(always)]
    pub fn of(number: Vector<S>) -> Self {
        let square = number.with(1).left_by(number);
        Origin {
            number,
            square,
            borrow: square.left::<1>(),
            borrow_flipped: square.flip().left::<1>(),
        }
    }

    #[inline(always)]
    pub fn file(self) -> Column<S> {
        let file = self.number & self.number.with(7);
        Column::of(self.number.with(FILE_A).left_by(file))
    }

    #[inline(always)]
    pub fn row(self) -> Flat<S> {
        let first = self.number & self.number.with(0x78);
        let squares = self.number.with(ROW_1).left_by(first);
        Flat {
            squares,
            left: squares & self.square.sub(self.number.with(1)),
        }
    }

    /// The diagonal towards h8 and the one towards a8.
    #[inline(always)]
    pub fn diagonals(self) -> [Column<S>; 2] {
        let zero = self.number.with(0);
        let file = (self.number & self.number.with(7)).left::<3>();
        let row = self.number & self.number.with(0x78);
        let rising = shifted(self.number.with(RISING), row.sub(file), zero);
        let falling = row.add(file).sub(self.number.with(56));
        let falling = shifted(self.number.with(FALLING), falling, zero);
        [Column::of(rising), Column::of(falling)]
    }

    /// What is seen along a file or diagonal.
    #[inline(always)]
    pub fn along(self, column: Column<S>, stops: Stops<S>) -> Ways<S> {
        let above = stops.squares & column.squares;
        let below = stops.flipped & column.flipped;
        let down = (below.sub(self.borrow_flipped) ^ below) & column.flipped;
        Ways {
            up: (above.sub(self.borrow) ^ above) & column.squares,
            down: down.flip(),
        }
    }

    /// What is seen along a row.
    #[inline(always)]
    pub fn across(self, row: Flat<S>, stops: Stops<S>) -> Ways<S> {
        let right = stops.squares & row.squares;
        // All squares to the left of the nearest stop, and that stop.
        let mut far = stops.squares & row.left;
        far |= far.right::<1>();
        far |= far.right::<2>();
        far |= far.right::<4>();
        Ways {
            up: (right.sub(self.borrow) ^ right) & row.squares,
            down: row.left.and_not(far.right::<1>()),
        }
    }
}

/// A line moved up by `by` bits, or down where that is less than 0.
#[inline(always)]
fn shifted<S: Lanes>(line: Vector<S>, by: Vector<S>, zero: Vector<S>) -> Vector<S> {
    // One of both shifts is by 64 or more (or both by 0), so that it gives nothing.
    line.left_by(by) | line.right_by(zero.sub(by))
}

/// Squares next to the squares of a set.
#[inline(always)]
pub fn king_steps<S: Lanes>(kings: Vector<S>) -> Vector<S> {
    let beside = (kings & kings.with(NOT_A)).right::<1>() | (kings & kings.with(NOT_H)).left::<1>();
    let three = beside | kings;
    beside | three.left::<8>() | three.right::<8>()
}

/// Squares a knight's jump away from a set.
#[inline(always)]
pub fn knight_jumps<S: Lanes>(knights: Vector<S>) -> Vector<S> {
    let one = only(knights, NOT_A).right::<1>() | only(knights, NOT_H).left::<1>();
    let two = only(knights, NOT_AB).right::<2>() | only(knights, NOT_GH).left::<2>();
    one.left::<16>() | one.right::<16>() | two.left::<8>() | two.right::<8>()
}

#[inline(always)]
fn only<S: Lanes>(squares: Vector<S>, files: u64) -> Vector<S> {
    squares & squares.with(files)
}

/// Squares that pawns of White (`side` 0) or Black (1) capture on: towards the a-file, towards
/// the h-file.
#[inline(always)]
pub fn pawn_captures<S: Lanes>(side: usize, pawns: Vector<S>) -> [Vector<S>; 2] {
    let (a, h) = (pawns & pawns.with(NOT_A), pawns & pawns.with(NOT_H));
    if side == 0 {
        [a.left::<7>(), h.left::<9>()]
    } else {
        [a.right::<9>(), h.right::<7>()]
    }
}

/// The squares one row ahead, seen from a side.
#[inline(always)]
pub fn ahead<S: Lanes>(side: usize, squares: Vector<S>) -> Vector<S> {
    if side == 0 {
        squares.left::<8>()
    } else {
        squares.right::<8>()
    }
}

/// First occupied squares met going ahead from `sources` over `empty` ones.
#[inline(always)]
pub fn first_ahead<S: Lanes>(side: usize, sources: Vector<S>, empty: Vector<S>) -> Vector<S> {
    let (mut seen, mut way) = (sources, empty);
    if side == 0 {
        seen |= way & seen.left::<8>();
        way &= way.left::<8>();
        seen |= way & seen.left::<16>();
        way &= way.left::<16>();
        seen |= way & seen.left::<32>();
        seen.left::<8>()
    } else {
        seen |= way & seen.right::<8>();
        way &= way.right::<8>();
        seen |= way & seen.right::<16>();
        way &= way.right::<16>();
        seen |= way & seen.right::<32>();
        seen.right::<8>()
    }
}
