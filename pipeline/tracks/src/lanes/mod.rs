//! The measuring kernel: a unit in eight consecutive positions of a game at once.
//!
//! A unit keeps its slot and its kind through a game, so that the same steps measure it in
//! each of several positions: a register holds one set of squares for each of them. What
//! hardly ever happens is done position by position afterwards: exchanges that sets do not
//! settle, captures en passant, castling in Chess960.
//!
//! The instruction set is chosen when the program runs; all give the same bits.
//! `tests/lanes.rs` compares each with the measures of single positions.

#[cfg(target_arch = "x86_64")]
mod avx2;
#[cfg(target_arch = "x86_64")]
mod avx512;
mod control;
mod lines;
mod looks;
mod open;
mod pins;
mod planes;
mod portable;
mod pushes;
mod safety;
pub mod sheet;
mod sums;
mod vector;

use control::PAWNS;
use lines::Origin;
use looks::Looks;
use pins::Pins;
use planes::Planes;
use portable::Portable;
use pulp::NullaryFnOnce;
#[cfg(target_arch = "x86_64")]
use pulp::x86::{V3, V4};
use safety::Safety;
use shakmaty::{Chess, Role};
use sheet::{BEFORE, Positions, Sheet};
pub use vector::CHUNK;
use vector::{Lanes, Vector};

/// An instruction set that this machine has.
#[derive(Clone, Copy, Debug)]
pub struct InstructionSet(Kind);

#[derive(Clone, Copy, Debug)]
enum Kind {
    #[cfg(target_arch = "x86_64")]
    Avx512(V4),
    #[cfg(target_arch = "x86_64")]
    Avx2(V3),
    Portable(Portable),
}

impl InstructionSet {
    /// Those of this machine, the fastest first.
    pub fn available() -> Vec<InstructionSet> {
        let mut sets = Vec::new();
        #[cfg(target_arch = "x86_64")]
        {
            sets.extend(V4::try_new().map(|simd| InstructionSet(Kind::Avx512(simd))));
            sets.extend(V3::try_new().map(|simd| InstructionSet(Kind::Avx2(simd))));
        }
        sets.push(InstructionSet(Kind::Portable(Portable)));
        sets
    }

    /// The fastest of this machine.
    pub fn fastest() -> InstructionSet {
        let portable = InstructionSet(Kind::Portable(Portable));
        InstructionSet::available()
            .first()
            .copied()
            .unwrap_or(portable)
    }

    /// Its name: `AVX-512`, `AVX2` or `portable`.
    pub fn name(self) -> &'static str {
        match self.0 {
            #[cfg(target_arch = "x86_64")]
            Kind::Avx512(_) => "AVX-512",
            #[cfg(target_arch = "x86_64")]
            Kind::Avx2(_) => "AVX2",
            Kind::Portable(_) => "portable",
        }
    }

    /// Measures up to [`CHUNK`] consecutive positions; the sheet has their units listed and
    /// knows the position before them.
    pub fn measure(self, positions: &[Chess], planes: &mut Positions, sheet: &mut Sheet) {
        planes.take(positions);
        sheet.clear_open();
        self.settle(planes, sheet);
        open::play_out(positions, sheet);
        open::add_rare(positions, planes, sheet);
        self.add_up(sheet);
    }

    #[inline(never)] // A place of its own in profiles.
    fn settle(self, positions: &Positions, sheet: &mut Sheet) {
        match self.0 {
            #[cfg(target_arch = "x86_64")]
            Kind::Avx512(simd) => simd.vectorize(Settle(simd, positions, sheet)),
            #[cfg(target_arch = "x86_64")]
            Kind::Avx2(simd) => simd.vectorize(Settle(simd, positions, sheet)),
            Kind::Portable(simd) => settle(simd, positions, sheet),
        }
    }

    #[inline(never)] // A place of its own in profiles.
    fn add_up(self, sheet: &mut Sheet) {
        match self.0 {
            #[cfg(target_arch = "x86_64")]
            Kind::Avx512(simd) => simd.vectorize(AddUp(simd, sheet)),
            #[cfg(target_arch = "x86_64")]
            Kind::Avx2(simd) => simd.vectorize(AddUp(simd, sheet)),
            Kind::Portable(simd) => add_up(simd, sheet),
        }
    }
}

/// [`settle`] as a function that is compiled for an instruction set. (A closure would not be
/// inlined for certain, and each operation of it be a call.)
struct Settle<'a, S>(S, &'a Positions, &'a mut Sheet);

impl<S: Lanes> NullaryFnOnce for Settle<'_, S> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        settle(self.0, self.1, self.2);
    }
}

/// [`add_up`] likewise.
struct AddUp<'a, S>(S, &'a mut Sheet);

impl<S: Lanes> NullaryFnOnce for AddUp<'_, S> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        add_up(self.0, self.1);
    }
}

impl Default for InstructionSet {
    fn default() -> Self {
        InstructionSet::fastest()
    }
}

/// Reach and, as far as sets decide them, safe squares of all units in all positions of a chunk.
#[inline(always)]
fn settle<S: Lanes>(simd: S, positions: &Positions, sheet: &mut Sheet) {
    for first in (0..CHUNK).step_by(S::COUNT) {
        settle_from(simd, positions, sheet, first);
    }
}

/// Where the king of a side stands.
#[inline(always)]
fn king<S: Lanes>(simd: S, sheet: &Sheet, side: usize, first: usize) -> Origin<S> {
    let list = &sheet.lists[side][Role::King as usize - 1];
    let squares = &sheet.squares[list.first().unwrap_or(0)];
    Origin::of(Vector::widen(simd, &squares[BEFORE + first..]))
}

/// The same for the lanes of one register.
#[inline(always)]
fn settle_from<S: Lanes>(simd: S, positions: &Positions, sheet: &mut Sheet, first: usize) {
    let planes = &Planes::load(simd, positions, first);
    let pins = [
        Pins::of(planes, 0, king(simd, sheet, 0, first)),
        Pins::of(planes, 1, king(simd, sheet, 1, first)),
    ];
    let [white, black] = [
        Looks::new(simd, planes, 0, &pins[0], first),
        Looks::new(simd, planes, 1, &pins[1], first),
    ];
    let control = [white.control(sheet), black.control(sheet)];
    white.king(sheet, &control[1]);
    black.king(sheet, &control[0]);
    for side in 0..2 {
        control[side]
            .direct
            .store(&mut sheet.attacked[side][BEFORE + first..]);
        pins[side]
            .units
            .store(&mut sheet.pinned[side][BEFORE + first..]);
    }
    // Squares on which a pawn of White, of Black may promote by capturing.
    let last = [0xff << 56, 0xff];
    let promoting = (control[0].once(PAWNS) & Vector::splat(simd, last[0]))
        | (control[1].once(PAWNS) & Vector::splat(simd, last[1]));
    for side in 0..2 {
        let safety = Safety {
            simd,
            planes,
            side,
            us: &control[side],
            them: &control[side ^ 1],
            plain: !promoting,
            first,
        };
        safety.settle(sheet);
        safety.settle_pawns(sheet);
    }
}

/// Sums over the units of both sides in all positions of a chunk.
#[inline(always)]
fn add_up<S: Lanes>(simd: S, sheet: &mut Sheet) {
    for first in (0..CHUNK).step_by(S::COUNT) {
        for side in 0..2 {
            sums::add_up(simd, sheet, side, first);
        }
    }
}
