//! Units pinned to their king, and squares behind a king in check.

use super::lines::{Origin, Stops, Ways};
use super::planes::Planes;
use super::vector::{Lanes, Vector};

/// Number of lines through a square: file, row, rising and falling diagonal.
pub const LINES: usize = 4;
pub const FILE: usize = 0;
pub const ROW: usize = 1;
pub const RISING: usize = 2;
pub const FALLING: usize = 3;

/// What the lines to the king of a side forbid its units.
#[derive(Clone, Copy)]
pub struct Pins<S: Lanes> {
    /// Units of the side that stand pinned.
    pub units: Vector<S>,
    /// By line: squares of units pinned along another line, who may not move along this one.
    pub elsewhere: [Vector<S>; LINES],
    /// Squares that a slider attacks through the king: it may not step there.
    pub behind: Vector<S>,
}

impl<S: Lanes> Pins<S> {
    #[inline(always)]
    pub fn of(planes: &Planes<S>, side: usize, king: Origin<S>) -> Self {
        let (own, enemy) = (planes.sides[side], planes.sides[side ^ 1]);
        let [straight, diagonal] = planes.sliders();
        let (straight, diagonal) = (straight & enemy, diagonal & enemy);
        let near = look(king, planes.occupied);
        let nearest = near[0].both() | near[1].both() | near[2].both() | near[3].both();
        // The same with the own units next to the king on its lines taken off.
        let far = look(
            king,
            Stops::at(planes.occupied.squares.and_not(nearest & own)),
        );
        let zero = own.with(0);
        let (mut pinning, mut all, mut behind) = ([zero; LINES], zero, zero);
        for line in 0..LINES {
            let snipers = if line < RISING { straight } else { diagonal };
            pinning[line] = newly_seen(near[line], far[line], snipers);
            all |= pinning[line];
            behind |= near[line].across(snipers);
        }
        Pins {
            units: all & own,
            elsewhere: [
                all ^ pinning[FILE],
                all ^ pinning[ROW],
                all ^ pinning[RISING],
                all ^ pinning[FALLING],
            ],
            behind,
        }
    }
}

/// What is seen from a square, by line.
#[inline(always)]
fn look<S: Lanes>(from: Origin<S>, stops: Stops<S>) -> [Ways<S>; LINES] {
    let [rising, falling] = from.diagonals();
    [
        from.along(from.file(), stops),
        from.across(from.row(), stops),
        from.along(rising, stops),
        from.along(falling, stops),
    ]
}

/// The ways of a line on which one of `snipers` is seen that was not seen before.
#[inline(always)]
fn newly_seen<S: Lanes>(near: Ways<S>, far: Ways<S>, snipers: Vector<S>) -> Vector<S> {
    let up = far.up.and_not(near.up) & snipers;
    let down = far.down.and_not(near.down) & snipers;
    up.where_any(far.up) | down.where_any(far.down)
}
