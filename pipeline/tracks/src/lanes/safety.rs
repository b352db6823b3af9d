//! Which squares are safe for knights, bishops, rooks and queens, as far as sets decide it.
//!
//! An exchange is settled by who attacks and who defends a square, counted by worth, where
//! nobody else can join from behind and no pawn promotes on it. What is left open is played
//! out square by square (`open.rs`).

use shakmaty::{Role, Role::*};

use super::control::{ALL, Control, MINORS, PAWNS, QUEENS, ROOKS};
use super::lines::Origin;
use super::planes::Planes;
use super::sheet::{BEFORE, Sheet};
use super::vector::{Lanes, Vector};

/// What decides whether a piece of a class is safe on a square it goes to.
pub struct Safety<'a, S: Lanes> {
    pub simd: S,
    pub planes: &'a Planes<S>,
    /// 0 for White, 1 for Black.
    pub side: usize,
    pub us: &'a Control<S>,
    pub them: &'a Control<S>,
    /// Squares on which no pawn of either side may promote by capturing.
    pub plain: Vector<S>,
    /// First lane of the register in the chunk.
    pub first: usize,
}

/// Sets that settle squares for the pieces of one class.
#[derive(Clone, Copy)]
struct Settled<S: Lanes> {
    /// Safe where attacked: the capture pays whatever follows.
    pays: Vector<S>,
    /// Lost where attacked: an attacker so cheap that the piece is lost even if it is captured
    /// in turn.
    hangs: Vector<S>,
    /// Safe where attacked.
    safe: Vector<S>,
    /// Lost where attacked.
    lost: Vector<S>,
    /// Another own unit than the piece itself may recapture.
    defended: Vector<S>,
}

/// Defenders of a class's pieces, the piece itself taken out of the counts.
struct Defence<S: Lanes> {
    /// By class of the defender: one, two of that worth or less.
    once: [Vector<S>; 5],
    twice: [Vector<S>; 5],
}

impl<S: Lanes> Defence<S> {
    #[inline(always)]
    fn of(us: &Control<S>, class: usize) -> Self {
        let (mut once, mut twice) = ([us.once(0); 5], [us.twice(0); 5]);
        for place in 0..5 {
            let with_itself = place >= class;
            once[place] = if with_itself {
                us.twice(place)
            } else {
                us.once(place)
            };
            twice[place] = if with_itself {
                us.thrice(place)
            } else {
                us.twice(place)
            };
        }
        Defence { once, twice }
    }
}

impl<S: Lanes> Safety<'_, S> {
    /// Puts down the safe squares of all pieces of the side, and those left open.
    #[inline(always)]
    pub fn settle(&self, sheet: &mut Sheet) {
        let minors = self.settled(MINORS);
        self.knights(sheet, &minors);
        self.sliders(sheet, Bishop, &minors);
        self.sliders(sheet, Rook, &self.settled(ROOKS));
        self.sliders(sheet, Queen, &self.settled(QUEENS));
    }

    #[inline(always)]
    fn settled(&self, class: usize) -> Settled<S> {
        let (us, them, plain) = (self.us, self.them, self.plain);
        let prey = self.planes.prey(self.side);
        let pieces = prey.and_not(self.planes.kind(Pawn));
        let queens = prey & self.planes.kind(Queen);
        let heavy = queens | (prey & self.planes.kind(Rook));
        let Defence { once, twice } = Defence::of(us, class);
        let pays = [pieces, heavy, queens][class - 1];
        let hangs = match class {
            MINORS => them.once(PAWNS),
            ROOKS => them.once(PAWNS) | them.once(MINORS).and_not(pieces),
            _ => them.once(MINORS) | them.once(ROOKS).and_not(heavy),
        };
        // No attacker is worth as little as the piece and its cheapest defender less what the
        // piece captured: only dearer attackers than each of these classes are there.
        let above_pawns = !them.once(PAWNS);
        let above_minors = !them.once(MINORS);
        let above_rooks = !them.once(ROOKS);
        let guarded = match class {
            MINORS => {
                (above_minors & once[PAWNS])
                    | (above_rooks & once[ROOKS])
                    | (prey & ((above_pawns & once[PAWNS]) | (above_minors & once[MINORS])))
            }
            ROOKS => {
                (above_rooks & once[MINORS])
                    | (prey & ((above_minors & once[PAWNS]) | (above_rooks & once[ROOKS])))
                    | (pieces & ((above_pawns & once[PAWNS]) | (above_minors & once[MINORS])))
            }
            _ => {
                (prey & above_rooks & once[PAWNS])
                    | (pieces & above_rooks & once[MINORS])
                    | (heavy & ((above_minors & once[PAWNS]) | (above_rooks & once[ROOKS])))
            }
        };
        let (defended, backed) = (once[ALL], twice[ALL]);
        let (two, three) = (them.twice(ALL), them.thrice(ALL));
        let cheap = second_is_cheaper(them, &once);
        // A second defender that is the king may not capture where a third attacker covers.
        let only_king = backed.and_not(twice[QUEENS]);
        let even = defended.and_not(them.joining) & (!two | backed.and_not(cheap | three));
        let outnumbered = (two & (!backed | cheap | (three & only_king))).and_not(guarded);
        Settled {
            pays,
            hangs,
            safe: plain & (pays | ((guarded & defended) | even).and_not(hangs)),
            lost: plain & (hangs | (!defended | outnumbered).and_not(us.joining)),
            defended,
        }
    }

    #[inline(always)]
    fn knights(&self, sheet: &mut Sheet, settled: &Settled<S>) {
        let attacked = self.them.once(ALL);
        for nth in 0..sheet.lists[self.side][Knight as usize - 1].count() {
            let slot = sheet.lists[self.side][Knight as usize - 1].slot(nth);
            let reach = self.reach(sheet, slot);
            let hit = reach & attacked;
            let safe = reach.and_not(attacked) | (hit & settled.safe);
            let open = hit.and_not(settled.safe | settled.lost);
            self.put(sheet, slot, safe, open);
        }
    }

    /// Sliders: where one follows from behind, less is settled.
    #[inline(always)]
    fn sliders(&self, sheet: &mut Sheet, kind: Role, settled: &Settled<S>) {
        let (us, them, plain) = (self.us, self.them, self.plain);
        let attacked = them.once(ALL);
        let joining = us.joining | them.joining;
        // On a square that its follower alone attacks: defended, and nobody else joins.
        let quiet = (settled.defended & plain).and_not(joining | attacked);
        for nth in 0..sheet.lists[self.side][kind as usize - 1].count() {
            let slot = sheet.lists[self.side][kind as usize - 1].slot(nth);
            let reach = self.reach(sheet, slot);
            let [enemy, own] = &sheet.followed[slot];
            let enemy = Vector::load(self.simd, &enemy[self.first..]);
            let own = Vector::load(self.simd, &own[self.first..]);
            let squares = &sheet.squares[slot][BEFORE + self.first..];
            let square = Origin::of(Vector::widen(self.simd, squares)).square;
            let alone = if kind == Queen {
                Vector::zero(self.simd)
            } else {
                // Nobody stands behind the follower either.
                (square & (joining | them.twice(ALL))).where_none(enemy & quiet)
            };
            let uncertain = (square & us.joining).where_any(enemy);
            let safe = (plain & (settled.pays | settled.safe.and_not(enemy))) | alone;
            let lost = plain & (settled.hangs | settled.lost.and_not(own | uncertain));
            let attacked = attacked | enemy;
            let hit = reach & attacked;
            self.put(
                sheet,
                slot,
                reach.and_not(attacked) | (hit & safe),
                hit.and_not(safe | lost),
            );
        }
    }

    #[inline(always)]
    fn reach(&self, sheet: &Sheet, slot: usize) -> Vector<S> {
        Vector::load(self.simd, &sheet.reach[slot][self.first..])
    }

    #[inline(always)]
    fn put(&self, sheet: &mut Sheet, slot: usize, safe: Vector<S>, open: Vector<S>) {
        safe.store(&mut sheet.safe[slot][BEFORE + self.first..]);
        open.store(&mut sheet.open[slot][self.first..]);
        sheet.open_lanes[slot] |= open.nonzero() << self.first;
    }
}

/// Squares where the second attacker is worth less than the first defender.
#[inline(always)]
pub fn second_is_cheaper<S: Lanes>(them: &Control<S>, defended: &[Vector<S>; 5]) -> Vector<S> {
    them.twice(PAWNS).and_not(defended[PAWNS])
        | them.twice(MINORS).and_not(defended[MINORS])
        | them.twice(ROOKS).and_not(defended[ROOKS])
        | them.twice(QUEENS).and_not(defended[QUEENS])
}
