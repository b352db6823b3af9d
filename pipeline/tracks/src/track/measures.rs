//! Both sides measured after each ply, and the sums over them.

use shakmaty::{Color, Role, Square};

use super::{Track, side};
use crate::frame::Shift;
use crate::mobility::{Since, safe_without_pin};
use crate::roster::Slot;
use crate::rules::Rules;
use crate::sight::is_piece;

impl Track {
    /// Safe mobility of both sides by kind.
    pub(super) fn totals(&self) -> [[u8; 6]; 2] {
        let mut totals = [[0; 6]; 2];
        let sides = self.sums.iter().zip(self.mobility.iter());
        for (totals, (sums, mobility)) in totals.iter_mut().zip(sides) {
            for (total, safe) in totals.iter_mut().zip(sums.safe) {
                *total = safe.clamp(0, i16::from(u8::MAX)) as u8;
            }
            totals[Role::Pawn as usize - 1] = mobility.pawns.safe.count() as u8;
        }
        totals
    }

    /// Takes a unit that leaves the board out of the sums; gives its safe mobility.
    pub(super) fn leave(&mut self, color: Color, kind: Role, square: Square) -> u8 {
        let former = self.mobility[side(color)].of_unit(color, square, kind);
        let safe = former.safe.count();
        if kind != Role::Pawn {
            let sums = &mut self.sums[side(color)];
            sums.safe[kind as usize - 1] -= safe as i16;
            sums.reach -= former.reach.count() as i16;
        }
        safe as u8
    }

    /// Measures one side at position `position`, the present one; gives the squares taken
    /// from it and given to it since the one before. `pawn` is the way of a pawn that moved,
    /// `ousted` the square of one that was captured or promoted. A piece just born counts in
    /// the sums only.
    #[inline(never)] // A place of its own in profiles.
    pub(super) fn measure(
        &mut self,
        position: usize,
        color: Color,
        since: Since,
        pawn: Option<(Square, Square)>,
        ousted: Option<Square>,
    ) -> Shift {
        let Track {
            position: game,
            sight,
            roster,
            mobility,
            sums,
            frames,
            most,
            ..
        } = self;
        let before_pinned = if position == 0 {
            0
        } else {
            frames[(position + 2) % 3].pinned
        };
        let frame = &mut frames[position % 3];
        let sums = &mut sums[side(color)];
        let mut shift = Shift::default();
        let mobility = &mut mobility[side(color)];
        let mut before = mobility.pawns.safe;
        mobility.update(
            sight,
            Rules::of(game),
            color,
            since,
            |square, kind, former, new| {
                let slot = roster.at(square) as usize;
                let safe = new.safe.count();
                sums.safe[kind as usize - 1] += safe as i16 - former.safe.count() as i16;
                sums.reach += new.reach.count() as i16 - former.reach.count() as i16;
                frame.safe[slot] = safe as u8;
                most[slot] = most[slot].max(safe as u8);
                if roster.birth(slot as Slot) < position {
                    frame.taken[slot] = shift.add(former.safe, new.safe) as u8;
                }
            },
        );
        let mut after = mobility.pawns.safe;
        if let Some((from, to)) = pawn {
            shift.add(before.of(color, from), after.of(color, to));
            before = before.without(color, from.into());
            after = after.without(color, to.into());
        }
        if let Some(ousted) = ousted {
            before = before.without(color, ousted.into());
        }
        for (before, after) in before.iter().zip(after.iter()) {
            shift.add(before, after);
        }
        for square in *sight.pinned.get(color) {
            let slot = roster.at(square);
            frame.pinned |= 1 << slot;
            let kind = roster.kind(slot);
            if before_pinned >> slot & 1 == 0 && is_piece(kind) {
                frame.unpinned[slot as usize] =
                    safe_without_pin(sight, color, square, kind).count() as u8;
            }
        }
        shift
    }

    /// Sum of the distinct legal destinations of the side on move.
    pub(super) fn legal_total(&self, color: Color) -> u8 {
        let sight = &self.sight;
        let in_check = sight
            .board
            .king_of(color)
            .is_some_and(|king| sight.control.get(!color).all.contains(king));
        let total = if in_check {
            let rules = Rules::of(&self.position);
            let mobility = &self.mobility[side(color)];
            sight
                .board
                .by_color(color)
                .into_iter()
                .map(|square| {
                    let kind = self.roster.kind(self.roster.at(square));
                    mobility.legal(sight, rules, square, kind).count()
                })
                .sum()
        } else {
            let pawns = self.mobility[side(color)].pawns.reach.count();
            self.sums[side(color)].reach as usize + pawns
        };
        total.min(usize::from(u8::MAX)) as u8
    }
}
