//! What the units of a side attack and where they could go.

use shakmaty::{Role, Role::*};

use super::control::{self, Control, Count};
use super::lines::{
    NOT_A, NOT_H, Origin, Stops, Ways, ahead, king_steps, knight_jumps, pawn_captures,
};
use super::pins::{FALLING, FILE, Pins, RISING, ROW};
use super::planes::Planes;
use super::sheet::{BEFORE, Sheet};
use super::vector::{Lanes, Vector};

/// One side of the boards of a register.
pub struct Looks<'a, S: Lanes> {
    pub simd: S,
    pub planes: &'a Planes<S>,
    /// 0 for White, 1 for Black.
    pub side: usize,
    pub pins: &'a Pins<S>,
    /// First lane of the register in the chunk.
    pub first: usize,
    /// Own units and the enemy king: never a destination.
    shut: Vector<S>,
    /// Pawns and kings by side: a slider behind them may join one square further on.
    steppers: [Vector<S>; 2],
    /// What stops sliders on straight lines and diagonals that join captures from behind
    /// units of either side.
    deep: [Stops<S>; 2],
}

/// What one slider sees.
struct Seen<S: Lanes> {
    /// Squares attacked.
    direct: Vector<S>,
    /// Squares it could go to, own units and kings included.
    reach: Vector<S>,
    /// Squares attacked through own units that capture before it.
    through: Vector<S>,
    /// Squares where it may join captures, whoever captures before it.
    deep: Vector<S>,
    /// Squares where an enemy slider follows it, and an own one that is not counted.
    followed: [Vector<S>; 2],
}

impl<'a, S: Lanes> Looks<'a, S> {
    #[inline(always)]
    pub fn new(
        simd: S,
        planes: &'a Planes<S>,
        side: usize,
        pins: &'a Pins<S>,
        first: usize,
    ) -> Self {
        let kings = planes.kind(King);
        let occupied = planes.occupied.squares;
        let [straight, diagonal] = planes.sliders();
        Looks {
            simd,
            planes,
            side,
            pins,
            first,
            shut: planes.sides[side] | kings,
            steppers: [
                (planes.kind(Pawn) & planes.sides[0]) | kings,
                (planes.kind(Pawn) & planes.sides[1]) | kings,
            ],
            deep: [
                Stops::at(occupied.and_not(straight)),
                Stops::at(occupied.and_not(diagonal)),
            ],
        }
    }

    #[inline(always)]
    fn origin(&self, sheet: &Sheet, slot: usize) -> Origin<S> {
        let squares = &sheet.squares[slot][BEFORE + self.first..];
        Origin::of(Vector::widen(self.simd, squares))
    }

    /// Looks from all units of the side; their reach is put down.
    #[inline(always)]
    pub fn control(&self, sheet: &mut Sheet) -> Control<S> {
        let mut control = Control::none(self.simd);
        let mut count = Count::none(self.simd);
        let pawns = self.planes.kind(Pawn) & self.planes.sides[self.side];
        for captures in pawn_captures(self.side, pawns) {
            control.direct |= captures;
            count.add(captures);
        }
        control.up_to[control::PAWNS] = count;
        self.knights(sheet, &mut control, &mut count);
        self.sliders::<true, false>(sheet, Bishop, &mut control, &mut count);
        control.up_to[control::MINORS] = count;
        self.sliders::<false, true>(sheet, Rook, &mut control, &mut count);
        control.up_to[control::ROOKS] = count;
        self.sliders::<true, true>(sheet, Queen, &mut control, &mut count);
        control.up_to[control::QUEENS] = count;
        let steps = king_steps(self.planes.kind(King) & self.planes.sides[self.side]);
        control.direct |= steps;
        count.add(steps);
        control.up_to[control::ALL] = count;
        self.pawns(sheet);
        control
    }

    #[inline(always)]
    fn knights(&self, sheet: &mut Sheet, control: &mut Control<S>, count: &mut Count<S>) {
        for nth in 0..sheet.lists[self.side][Knight as usize - 1].count() {
            let slot = sheet.lists[self.side][Knight as usize - 1].slot(nth);
            let square = self.origin(sheet, slot).square;
            let jumps = knight_jumps(square);
            control.direct |= jumps;
            count.add(jumps);
            let reach = (square & self.pins.units).where_none(jumps.and_not(self.shut));
            reach.store(&mut sheet.reach[slot][self.first..]);
        }
    }

    /// Looks from the sliders of a kind; the constants say along which lines.
    #[inline(always)]
    fn sliders<const DIAGONAL: bool, const STRAIGHT: bool>(
        &self,
        sheet: &mut Sheet,
        kind: Role,
        control: &mut Control<S>,
        count: &mut Count<S>,
    ) {
        let own = self.planes.sides[self.side];
        let occupied = self.planes.occupied.squares;
        // Own units of the line that are worth no more are seen through.
        let (mut straight, mut diagonal) = (self.planes.kind(kind), self.planes.kind(kind));
        if DIAGONAL && STRAIGHT {
            straight |= self.planes.kind(Rook);
            diagonal |= self.planes.kind(Bishop);
        }
        let through_straight = Stops::at(occupied.and_not(own & straight));
        let through_diagonal = Stops::at(occupied.and_not(own & diagonal));
        for nth in 0..sheet.lists[self.side][kind as usize - 1].count() {
            let slot = sheet.lists[self.side][kind as usize - 1].slot(nth);
            let origin = self.origin(sheet, slot);
            let mut seen = Seen::nothing(self.simd);
            if DIAGONAL {
                self.diagonal(origin, through_diagonal, STRAIGHT, &mut seen);
            }
            if STRAIGHT {
                self.straight(origin, through_straight, DIAGONAL, &mut seen);
            }
            control.direct |= seen.direct;
            control.joining |= seen.deep.and_not(seen.through);
            count.add(seen.through);
            let reach = seen.reach.and_not(self.shut);
            reach.store(&mut sheet.reach[slot][self.first..]);
            for (squares, to) in seen.followed.iter().zip(&mut sheet.followed[slot]) {
                squares.store(&mut to[self.first..]);
            }
        }
    }

    #[inline(always)]
    fn diagonal(&self, origin: Origin<S>, through: Stops<S>, queen: bool, seen: &mut Seen<S>) {
        let [rising, falling] = origin.diagonals();
        let own = self.planes.sides[self.side];
        let [_, sliders] = self.planes.sliders();
        let bishops = if queen {
            Some(self.planes.kind(Bishop) & own)
        } else {
            None
        };
        for (line, column) in [(RISING, rising), (FALLING, falling)] {
            let near = origin.along(column, self.planes.occupied);
            seen.line(near, origin.square & self.pins.elsewhere[line]);
            seen.follow(near, sliders & self.planes.sides[self.side ^ 1], bishops);
            let far = origin.along(column, through);
            seen.through |= far.both();
            let beyond = self.beyond_pawns(far, line);
            seen.through |= beyond;
            let deep = origin.along(column, self.deep[1]);
            seen.deep |= deep.both();
            let [white, black] = self.steppers;
            seen.deep |= step_on(deep.up & white, deep.down & black, line);
        }
    }

    /// Squares that own pawns seen on a diagonal capture on.
    #[inline(always)]
    fn beyond_pawns(&self, far: Ways<S>, line: usize) -> Vector<S> {
        let pawns = self.planes.kind(Pawn) & self.planes.sides[self.side];
        let none = pawns.with(0);
        if self.side == 0 {
            step_on(far.up & pawns, none, line)
        } else {
            step_on(none, far.down & pawns, line)
        }
    }

    #[inline(always)]
    fn straight(&self, origin: Origin<S>, through: Stops<S>, queen: bool, seen: &mut Seen<S>) {
        let (file, row) = (origin.file(), origin.row());
        let own = self.planes.sides[self.side];
        let [sliders, _] = self.planes.sliders();
        let enemy = sliders & self.planes.sides[self.side ^ 1];
        let rooks = if queen {
            Some(self.planes.kind(Rook) & own)
        } else {
            None
        };
        let kings = self.planes.kind(King);
        let near = origin.along(file, self.planes.occupied);
        seen.line(near, origin.square & self.pins.elsewhere[FILE]);
        seen.follow(near, enemy, rooks);
        let near = origin.across(row, self.planes.occupied);
        seen.line(near, origin.square & self.pins.elsewhere[ROW]);
        seen.follow(near, enemy, rooks);
        seen.through |= origin.along(file, through).both() | origin.across(row, through).both();
        let deep = origin.along(file, self.deep[0]);
        seen.deep |= deep.both() | (deep.up & kings).left::<8>() | (deep.down & kings).right::<8>();
        let deep = origin.across(row, self.deep[0]);
        let (right, left) = (deep.up & kings, deep.down & kings);
        seen.deep |= deep.both()
            | (right & right.with(NOT_H)).left::<1>()
            | (left & left.with(NOT_A)).right::<1>();
    }

    /// Those of the units that are not pinned along another line.
    #[inline(always)]
    fn free(&self, units: Vector<S>, line: usize) -> Vector<S> {
        units.and_not(self.pins.elsewhere[line])
    }

    /// Where the pawns could go, en passant left out.
    #[inline(always)]
    fn pawns(&self, sheet: &mut Sheet) {
        let (side, planes) = (self.side, self.planes);
        let pawns = planes.kind(Pawn) & planes.sides[side];
        let empty = planes.empty();
        let one = ahead(side, self.free(pawns, FILE)) & empty;
        let third = [0x0000_0000_00ff_0000, 0x0000_ff00_0000_0000][side];
        let two = ahead(side, one & one.with(third)) & empty;
        // White captures towards the a-file along the falling diagonals, Black along the rising.
        let (left, right) = [(FALLING, RISING), (RISING, FALLING)][side];
        let [left, _] = pawn_captures(side, self.free(pawns, left));
        let [_, right] = pawn_captures(side, self.free(pawns, right));
        let prey = planes.prey(side);
        let steps = [one, two, left & prey, right & prey];
        for (squares, to) in steps.iter().zip(&mut sheet.pawn_reach[side]) {
            squares.store(&mut to[self.first..]);
        }
    }

    /// Where the king could go; by the usual rules of castling.
    #[inline(always)]
    pub fn king(&self, sheet: &mut Sheet, enemy: &Control<S>) {
        let Some(slot) = sheet.lists[self.side][King as usize - 1].first() else {
            return;
        };
        let king = self.planes.kind(King) & self.planes.sides[self.side];
        let attacked = enemy.direct;
        let mut reach = king_steps(king).and_not(self.shut | attacked | self.pins.behind);
        let home = 56 * self.side as u32;
        // King's side, queen's side: squares to be empty, and not attacked; rook; destination.
        for (path, way, rook, to) in [
            (0x60_u64, 0x70_u64, 0x80_u64, 0x40_u64),
            (0x0e, 0x1c, 0x01, 0x04),
        ] {
            let bad = (self.planes.occupied.squares & king.with(path << home))
                | (attacked & king.with(way << home));
            let right = self.planes.castling & king.with(rook << home);
            reach |= bad.where_none(right.where_any(king.with(to << home)));
        }
        reach.store(&mut sheet.reach[slot][self.first..]);
        reach.store(&mut sheet.safe[slot][BEFORE + self.first..]);
    }
}

/// The next square up a diagonal from `up` and down it from `down`.
#[inline(always)]
fn step_on<S: Lanes>(up: Vector<S>, down: Vector<S>, line: usize) -> Vector<S> {
    if line == RISING {
        (up & up.with(NOT_H)).left::<9>() | (down & down.with(NOT_A)).right::<9>()
    } else {
        (up & up.with(NOT_A)).left::<7>() | (down & down.with(NOT_H)).right::<7>()
    }
}

impl<S: Lanes> Seen<S> {
    #[inline(always)]
    fn nothing(simd: S) -> Self {
        let none = Vector::zero(simd);
        Seen {
            direct: none,
            reach: none,
            through: none,
            deep: none,
            followed: [none; 2],
        }
    }

    /// Adds a line as the board stands; `held` is the slider where it is pinned along another.
    #[inline(always)]
    fn line(&mut self, near: Ways<S>, held: Vector<S>) {
        let both = near.both();
        self.direct |= both;
        self.reach |= held.where_none(both);
    }

    /// Adds the squares away from sliders that see this one along a line.
    #[inline(always)]
    fn follow(&mut self, near: Ways<S>, enemy: Vector<S>, own: Option<Vector<S>>) {
        self.followed[0] |= near.across(enemy);
        if let Some(own) = own {
            self.followed[1] |= near.across(own);
        }
    }
}
