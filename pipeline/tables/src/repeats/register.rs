//! The games kept so far.

use std::sync::Arc;

use super::game_key::GameKey;
use hashbrown::HashTable;

/// The game that another one repeats.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Original {
    /// Name of its source in the tables.
    pub source: Arc<str>,
    /// Its number in the source.
    pub number: u32,
}

/// The games kept so far.
#[derive(Default)]
pub struct Register {
    entries: Vec<GameKey>,
    places: HashTable<u32>,
    /// Sources, each with the number of entries before its own.
    sources: Vec<(u32, Arc<str>)>,
}

impl Register {
    /// Number of games kept.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether no game was kept.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// The games that come next are of a source.
    pub fn begin_source(&mut self, source: &str) {
        self.sources
            .push((self.entries.len() as u32, source.into()));
    }

    /// The first game that a game repeats; `None` where there is none, and the game is then
    /// remembered.
    pub fn ask(&mut self, game: &GameKey) -> Option<Original> {
        let hash = game.hash();
        let entries = &self.entries;
        let same = |place: &&u32| game.repeats(&entries[**place as usize]);
        match self.places.iter_hash(hash).filter(same).min() {
            Some(&place) => Some(self.original(place)),
            None => {
                self.add(*game, hash);
                None
            }
        }
    }

    /// Remembers a game that was kept before.
    pub fn remember(&mut self, game: &GameKey) {
        self.add(*game, game.hash());
    }

    fn add(&mut self, game: GameKey, hash: u64) {
        let place = self.entries.len() as u32;
        self.entries.push(game);
        let entries = &self.entries;
        let hash_of = |place: &u32| entries[*place as usize].hash();
        self.places.insert_unique(hash, place, hash_of);
    }

    fn original(&self, place: u32) -> Original {
        let source = self.sources.partition_point(|&(first, _)| first <= place);
        Original {
            source: source
                .checked_sub(1)
                .map_or_else(|| "".into(), |at| self.sources[at].1.clone()),
            number: self.entries[place as usize].number(),
        }
    }
}
