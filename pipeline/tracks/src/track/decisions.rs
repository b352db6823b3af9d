//! The rows of chances to restrain at the sampled turns of a game, made at its end.

use hobble_terms::{OTHERS_K, landmark_k};
use shakmaty::{Bitboard, Chess, Position, Square};

use super::Track;
use super::losses::Losses;
use crate::chances::{Chance, Finder, Way};
use crate::decision::{DecisionRow, Played};
use crate::mobility::Mobility;
use crate::roster::Slot;
use crate::rules::Rules;
use crate::sight::Sight;
use crate::surroundings::Surroundings;

/// Chances to restrain at some turns of a game; buffers are kept from game to game.
#[derive(Default)]
pub struct DecisionRows {
    rows: Vec<DecisionRow>,
    finder: Finder,
    /// Developed pieces of the other side at a turn.
    pieces: Vec<(Square, Slot)>,
    lost: Losses,
    /// The other side after the last ply of the game.
    last: Box<Mobility>,
}

impl DecisionRows {
    /// The rows, in the order of turns, and there of squares.
    pub fn rows(&self) -> &[DecisionRow] {
        &self.rows
    }
}

impl Track {
    /// Makes the rows of the turns in a sample; after [`Track::finish`].
    pub fn decision_rows(&self, is_sampled: impl Fn(u16) -> bool, made: &mut DecisionRows) {
        made.rows.clear();
        made.lost.take(self.captures());
        for position in 0..self.plies.len() {
            if is_sampled(position as u16) {
                self.decide(position, made);
            }
        }
    }

    /// Adds the rows of a turn.
    fn decide(&self, position: usize, made: &mut DecisionRows) {
        let game = &self.positions[position];
        made.pieces.clear();
        let mut among = Bitboard::EMPTY;
        let others = game.them() & !game.board().pawns() & !game.board().kings();
        for square in others {
            let slot = self.slot_at(position, square);
            if self.was_developed(slot, position) {
                among |= Bitboard::from_square(square);
                made.pieces.push((square, slot));
            }
        }
        made.finder.find(game, among);
        if made.finder.chances().is_empty() {
            return;
        }
        let us = game.turn();
        let finder = &made.finder;
        let held = |square: Square| u8::from(finder.safe_of(us, square) <= OTHERS_K);
        let all_held: u8 = made.pieces.iter().map(|&(square, _)| held(square)).sum();
        let ply = &self.plies[position];
        let way = Way {
            from: ply.from,
            to: ply.to,
            castling: ply.castling,
        };
        let quiet = finder.is_quiet(us, way);
        let setting = self.setting(position, us);
        for chance in finder.chances() {
            let piece = made.pieces.iter().find(|piece| piece.0 == chance.square);
            let Some(&(square, slot)) = piece else {
                continue;
            };
            made.rows.push(DecisionRow {
                position: position as u16,
                color: us,
                slot,
                chance: *chance,
                last: self.earlier(slot, position + 1, 2),
                around: Surroundings::of(game.board(), !us, chance.kind, square),
                others_held: all_held - held(square),
                legal: finder.legal().min(usize::from(u8::MAX)) as u8,
                quiet: finder.quiet().min(usize::from(u8::MAX)) as u8,
                played: self.played(position, chance, slot, quiet, &mut made.last),
                setting,
                capture: self.captures[slot as usize],
                others_lost: made.lost.next(position, !us, slot),
            });
        }
    }

    /// The move played, as it concerns a piece; `quiet`: it gives nothing away.
    fn played(
        &self,
        position: usize,
        chance: &Chance,
        slot: Slot,
        quiet: bool,
        last: &mut Mobility,
    ) -> Played {
        let (left, attacks) = match self.left(position + 1, chance.square, slot, last) {
            Some((left, attacked)) => (Some(left), attacked),
            None => (None, false),
        };
        Played {
            mover: self.plies[position].mover,
            quiet,
            left,
            attacks,
            restrains: quiet
                && !attacks
                && left.is_some_and(|left| left <= landmark_k(chance.kind)),
        }
    }

    /// Safe squares of a piece at its owner's position, and whether it is attacked; `None`
    /// where it was captured before. `last` is a buffer.
    fn left(
        &self,
        position: usize,
        square: Square,
        slot: Slot,
        last: &mut Mobility,
    ) -> Option<(u8, bool)> {
        let captured = self.captures[slot as usize];
        if captured.is_some_and(|capture| usize::from(capture.ply) == position) {
            return None;
        }
        if position < self.plies.len() {
            let mut seen = self.observations[self.observed_at(position)].iter();
            let then = seen.find(|observed| observed.slot == slot)?;
            return Some((then.safe, then.key.attacked()));
        }
        // No turn was recorded at the last position.
        let game: &Chess = &self.position;
        let sight = Sight::of(game.board());
        last.measure(&sight, Rules::of(game), game.turn());
        let attacked = sight.control.get(!game.turn()).all.contains(square);
        Some((last.of(square).safe.count() as u8, attacked))
    }

    /// The unit of the side not on move on a square at a turn: it stands there at the next
    /// position too, unless it is captured.
    fn slot_at(&self, position: usize, square: Square) -> Slot {
        let next = position + 1;
        let seen = if next < self.plies.len() {
            self.record.observed_on(self.observed_at(next), square)
        } else {
            None
        };
        let seen = seen.map(|index| self.observations[index].slot);
        seen.unwrap_or_else(|| {
            let mut victims = self.victims.iter();
            let captured =
                victims.find(|victim| usize::from(victim.ply) == next && victim.square == square);
            captured.map_or_else(|| self.roster.at(square), |victim| victim.slot)
        })
    }

    /// Whether the unit of a slot was developed at a position. It has not moved since, or its
    /// observation at the next one shows.
    fn was_developed(&self, slot: Slot, position: usize) -> bool {
        let next = position + 1;
        if next < self.plies.len() {
            let mut seen = self.observations[self.observed_at(next)].iter();
            if let Some(then) = seen.find(|observed| observed.slot == slot) {
                return then.key.developed();
            }
        }
        self.roster.is_developed(slot)
    }
}
