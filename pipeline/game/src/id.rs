//! Game ids (definitions, section 9): hashes that do not depend on a game's place.

use shakmaty::{Color, Move, Role};
use xxhash_rust::xxh3::xxh3_64;

use crate::tags::{Tag, Tags};

/// The two ids of a game.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ids {
    /// Of the game.
    pub game: u64,
    /// Of its start and moves alone.
    pub moves: u64,
}

impl Ids {
    /// Fold of the game: its id modulo 64.
    pub fn fold(self) -> u8 {
        hobble_terms::fold::fold(self.game)
    }
}

/// Collects the bytes that one game's ids are made of.
#[derive(Clone, Debug, Default)]
pub struct IdWriter {
    bytes: Vec<u8>,
    /// Where the start position begins, and with it what the moves id is made of.
    start: usize,
}

impl IdWriter {
    /// Begins a game.
    pub fn begin(&mut self, tags: &Tags) {
        self.bytes.clear();
        for tag in Tag::ROSTER {
            self.bytes.extend_from_slice(tags.raw(tag));
            self.bytes.push(0);
        }
        self.start = self.bytes.len();
        self.bytes.extend_from_slice(tags.raw(Tag::Fen));
        self.bytes.push(0);
    }

    /// Makes the ids of the game that was played from other values of its tags; the start and the
    /// moves stay.
    pub fn rename(&mut self, tags: &Tags) {
        let of_moves = self.bytes.split_off(self.start);
        self.begin(tags);
        self.bytes.truncate(self.start);
        self.bytes.extend_from_slice(&of_moves);
    }

    /// Adds a move.
    #[inline]
    pub fn play(&mut self, m: Move, color: Color) {
        let to = match m.castling_side() {
            Some(side) => side.king_to(color),
            None => m.to(),
        };
        let from = m.from().unwrap_or(to);
        let promotion = m.promotion().map_or(0, |role: Role| role as u16);
        let code = from.to_u32() as u16 + 64 * to.to_u32() as u16 + 4096 * promotion;
        self.bytes.extend_from_slice(&code.to_le_bytes());
    }

    /// The ids.
    pub fn ids(&self) -> Ids {
        Ids {
            game: xxh3_64(&self.bytes),
            moves: xxh3_64(&self.bytes[self.start..]),
        }
    }
}
