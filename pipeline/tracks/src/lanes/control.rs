//! How often each square is attacked by a side, counted by the worth of the attackers.

use super::vector::{Lanes, Vector};

/// Squares attacked by at least one, two, three units.
#[derive(Clone, Copy)]
pub struct Count<S: Lanes>([Vector<S>; 3]);

impl<S: Lanes> Count<S> {
    #[inline(always)]
    pub fn none(simd: S) -> Self {
        Count([Vector::zero(simd); 3])
    }

    /// Adds a unit's squares.
    #[inline(always)]
    pub fn add(&mut self, squares: Vector<S>) {
        let [one, two, three] = self.0;
        self.0 = [
            one | squares,
            two | (one & squares),
            three | (two & squares),
        ];
    }

    #[inline(always)]
    pub fn once(&self) -> Vector<S> {
        self.0[0]
    }

    #[inline(always)]
    pub fn twice(&self) -> Vector<S> {
        self.0[1]
    }

    #[inline(always)]
    pub fn thrice(&self) -> Vector<S> {
        self.0[2]
    }
}

/// Classes of units by worth; each counts with those below it.
pub const PAWNS: usize = 0;
pub const MINORS: usize = 1;
pub const ROOKS: usize = 2;
pub const QUEENS: usize = 3;
pub const ALL: usize = 4;
const CLASSES: usize = 5;

/// What one side attacks.
///
/// Counted is who may take part in captures on a square without waiting for a dearer unit or
/// one of the other side: units that attack it, and sliders that stand behind own units of the
/// same line that are worth no more.
#[derive(Clone, Copy)]
pub struct Control<S: Lanes> {
    /// Counts of pawns; of pawns and minor pieces; of these and rooks; … and queens; of all.
    pub up_to: [Count<S>; CLASSES],
    /// Squares attacked as the board stands.
    pub direct: Vector<S>,
    /// Squares where a slider may join that was not counted.
    pub joining: Vector<S>,
}

impl<S: Lanes> Control<S> {
    #[inline(always)]
    pub fn none(simd: S) -> Self {
        Control {
            up_to: [Count::none(simd); CLASSES],
            direct: Vector::zero(simd),
            joining: Vector::zero(simd),
        }
    }

    /// Attacked by one of a class or below.
    #[inline(always)]
    pub fn once(&self, class: usize) -> Vector<S> {
        self.up_to[class].once()
    }

    /// Attacked by two of a class or below.
    #[inline(always)]
    pub fn twice(&self, class: usize) -> Vector<S> {
        self.up_to[class].twice()
    }

    /// Attacked by three of a class or below.
    #[inline(always)]
    pub fn thrice(&self, class: usize) -> Vector<S> {
        self.up_to[class].thrice()
    }
}
