//! Which squares are safe for pawns that are pushed, as far as sets decide it.
//!
//! A capture is a pawn for a pawn at worst, so that all squares pawns capture on are safe; one
//! that promotes too, as the other side's pawns do not capture on this side's last row.

use shakmaty::Role::*;

use super::control::{ALL, MINORS, PAWNS, QUEENS, ROOKS};
use super::lines::{ahead, first_ahead};
use super::safety::Safety;
use super::sheet::{BEFORE, Sheet};
use super::vector::{Lanes, Vector};

/// Rooks and queens right behind pawns, by the squares the pawns are pushed to: a line that
/// opens as they go.
struct Behind<S: Lanes> {
    own_rook: Vector<S>,
    own_queen: Vector<S>,
    enemy_rook: Vector<S>,
    enemy_queen: Vector<S>,
    /// Two of them, one behind the other.
    two: Vector<S>,
}

impl<S: Lanes> Safety<'_, S> {
    /// Puts down the safe squares of the side's pawns, and those left open.
    #[inline(always)]
    pub fn settle_pawns(&self, sheet: &mut Sheet) {
        let mut behind = self.behind_pawns();
        for step in 0..2 {
            let reach = Vector::load(self.simd, &sheet.pawn_reach[self.side][step][self.first..]);
            let (safe, open) = self.pushed(reach, &behind);
            safe.store(&mut sheet.pawn_safe[self.side][step][BEFORE + self.first..]);
            open.store(&mut sheet.pawn_open[self.side][step][self.first..]);
            sheet.pawn_open_lanes[self.side][step] |= open.nonzero() << self.first;
            behind = behind.a_row_on(self.side);
        }
        for step in 2..4 {
            let reach = Vector::load(self.simd, &sheet.pawn_reach[self.side][step][self.first..]);
            reach.store(&mut sheet.pawn_safe[self.side][step][BEFORE + self.first..]);
        }
    }

    #[inline(always)]
    fn behind_pawns(&self) -> Behind<S> {
        let (side, planes) = (self.side, self.planes);
        let (own, enemy) = (planes.sides[side], planes.sides[side ^ 1]);
        let pawns = planes.kind(Pawn) & own;
        let (rooks, queens) = (planes.kind(Rook), planes.kind(Queen));
        let heavy = rooks | queens;
        let second = heavy & first_ahead(side, heavy, planes.empty());
        Behind {
            own_rook: self.pushed_before(pawns, rooks & own),
            own_queen: self.pushed_before(pawns, queens & own),
            enemy_rook: self.pushed_before(pawns, rooks & enemy),
            enemy_queen: self.pushed_before(pawns, queens & enemy),
            two: self.pushed_before(pawns, second),
        }
    }

    /// Squares that pawns right ahead of one of `units` are pushed to.
    #[inline(always)]
    fn pushed_before(&self, pawns: Vector<S>, units: Vector<S>) -> Vector<S> {
        let met = first_ahead(self.side, units, self.planes.empty());
        ahead(self.side, met & pawns)
    }

    /// Of squares that pawns are pushed to: those that are safe, and those left open.
    #[inline(always)]
    fn pushed(&self, reach: Vector<S>, behind: &Behind<S>) -> (Vector<S>, Vector<S>) {
        let (us, them) = (self.us, self.them);
        // The counts with what follows from behind; a pawn does not attack the square ahead.
        let chasers = behind.enemy_rook | behind.enemy_queen;
        let backers = behind.own_rook | behind.own_queen;
        let attacked = them.once(ALL) | chasers;
        let two = them.twice(ALL) | (them.once(ALL) & chasers);
        let three = them.thrice(ALL) | (them.twice(ALL) & chasers);
        let by_two = [
            them.twice(PAWNS),
            them.twice(MINORS),
            them.twice(ROOKS) | (them.once(ROOKS) & behind.enemy_rook),
            them.twice(QUEENS) | (them.once(QUEENS) & chasers),
        ];
        let defended = [
            us.once(PAWNS),
            us.once(MINORS),
            us.once(ROOKS) | behind.own_rook,
            us.once(QUEENS) | backers,
        ];
        let any_defender = us.once(ALL) | backers;
        let backed = us.twice(ALL) | (us.once(ALL) & backers);
        let above_pawns = !them.once(PAWNS);
        let above_minors = !them.once(MINORS);
        let above_rooks = !(them.once(ROOKS) | behind.enemy_rook);
        let guarded = (above_pawns & defended[PAWNS])
            | (above_minors & defended[MINORS])
            | (above_rooks & defended[ROOKS]);
        let cheap = by_two[PAWNS].and_not(defended[PAWNS])
            | by_two[MINORS].and_not(defended[MINORS])
            | by_two[ROOKS].and_not(defended[ROOKS])
            | by_two[QUEENS].and_not(defended[QUEENS]);
        // Two attackers that together are worth a pawn more than the first defender.
        let dear_pair = (above_pawns & by_two[MINORS] & defended[ROOKS]).and_not(defended[MINORS])
            | (above_minors & by_two[ROOKS] & defended[QUEENS]).and_not(defended[ROOKS]);
        let cheap = cheap.and_not(dear_pair);
        let even = (!two | backed.and_not(cheap | three)).and_not(them.joining);
        let outnumbered = (two & (!backed | cheap)).and_not(guarded);
        let last = reach.with([0xff << 56, 0xff][self.side]);
        let unsettled = last | behind.two;
        let safe = (any_defender & (guarded | even)).and_not(unsettled);
        let lost = (!any_defender | outnumbered).and_not(unsettled | us.joining);
        let hit = reach & attacked;
        (
            reach.and_not(attacked) | (hit & safe),
            hit.and_not(safe | lost),
        )
    }
}

impl<S: Lanes> Behind<S> {
    #[inline(always)]
    fn a_row_on(self, side: usize) -> Self {
        Behind {
            own_rook: ahead(side, self.own_rook),
            own_queen: ahead(side, self.own_queen),
            enemy_rook: ahead(side, self.enemy_rook),
            enemy_queen: ahead(side, self.enemy_queen),
            two: ahead(side, self.two),
        }
    }
}
