//! The cube of observations: counts of outcomes by the keys of an observation.

use std::ops::Range;

use rustc_hash::FxHashMap;
use shakmaty::Color;

use hobble_tracks::exposure::{BoardKey, Outcome};

use crate::exposure::{Context, CubeColumns};

/// A cube of this many cells is written before its part is complete, which bounds its memory if
/// an archive has ratings and time controls of all kinds. Rows of one key in one part add up,
/// as those of two parts do.
pub const MOST_CELLS: usize = 1 << 19;

/// Most rows of a cube that are handed out at a time.
const ROWS: usize = 1 << 16;

/// Counts of outcomes by keys.
#[derive(Default)]
pub struct Cube {
    contexts: FxHashMap<Context, u32>,
    /// Place of each cell, by the number of its context and its key on the board.
    places: FxHashMap<u32, u32>,
    cells: Vec<[u32; Outcome::COUNT]>,
}

impl Cube {
    /// Number of cells.
    pub fn len(&self) -> usize {
        self.cells.len()
    }

    /// Whether nothing was counted.
    pub fn is_empty(&self) -> bool {
        self.cells.is_empty()
    }

    /// Adds counts.
    pub fn add(&mut self, counts: &Counts) {
        let mut start = 0;
        for &(context, end) in &counts.contexts {
            let next = self.contexts.len() as u32;
            let context = *self.contexts.entry(context).or_insert(next);
            for &(note, count) in &counts.notes[start..end] {
                let (key, outcome) = read_note(note);
                let cell = context * BoardKey::COUNT as u32 + key as u32;
                let next = self.cells.len() as u32;
                let place = *self.places.entry(cell).or_insert(next);
                if place == next {
                    self.cells.push([0; Outcome::COUNT]);
                }
                self.cells[place as usize][outcome] += count;
            }
            start = end;
        }
    }

    /// Hands out the cells as rows, sorted by their keys; a limited number at a time, as rows
    /// are larger than cells.
    ///
    /// # Errors
    ///
    /// Those of `take`.
    pub fn rows<E>(
        &self,
        mut take: impl FnMut(&mut CubeColumns) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut contexts: Vec<_> = self.contexts.iter().collect();
        contexts.sort();
        // Rank of each context, by its number.
        let mut ranks = vec![0; contexts.len()];
        for (rank, (_, number)) in contexts.iter().enumerate() {
            ranks[**number as usize] = rank as u32;
        }
        let keys = BoardKey::COUNT as u32;
        let mut cells: Vec<(u32, u16, u32)> = self
            .places
            .iter()
            .map(|(&cell, &place)| (ranks[(cell / keys) as usize], (cell % keys) as u16, place))
            .collect();
        cells.sort_unstable();
        let mut rows = CubeColumns::default();
        for cells in cells.chunks(ROWS) {
            for &(rank, key, place) in cells {
                let (context, _) = contexts[rank as usize];
                let key = BoardKey::from_index(key);
                rows.push(context, key, &self.cells[place as usize]);
            }
            take(&mut rows)?;
        }
        Ok(())
    }
}

/// Low bits of a note, which hold the outcome; the others hold the key.
const OUTCOME_BITS: u32 = 5;
const _: () = assert!(Outcome::COUNT <= 1 << OUTCOME_BITS);
const _: () = assert!(BoardKey::COUNT << OUTCOME_BITS <= 1 << u16::BITS);

/// An observation in 16 bits.
#[inline]
fn note(key: BoardKey, outcome: Outcome) -> u16 {
    (key.index() << OUTCOME_BITS | outcome.index()) as u16
}

#[inline]
fn read_note(note: u16) -> (usize, usize) {
    let note = usize::from(note);
    (note >> OUTCOME_BITS, note & ((1 << OUTCOME_BITS) - 1))
}

/// Observations of a block of games, and how often each occurs.
#[derive(Default)]
pub struct Counts {
    /// Contexts, each with the end of its notes.
    contexts: Vec<(Context, usize)>,
    notes: Vec<(u16, u32)>,
}

/// Observations noted game by game, and counted context by context: the counters of one
/// context fit the processor's cache, those of all contexts do not.
pub struct Tally {
    /// Observations by side, in 16 bits each.
    noted: [Vec<u16>; 2],
    /// A context of a game, its side, and the place of its observations.
    games: Vec<(Context, usize, Range<usize>)>,
    /// How often each note occurs in the context being counted.
    counters: Vec<u32>,
}

impl Default for Tally {
    fn default() -> Self {
        Tally {
            noted: Default::default(),
            games: Vec::new(),
            counters: vec![0; 1 << u16::BITS],
        }
    }
}

impl Tally {
    /// Notes the observations of a game; `contexts` are White's and Black's.
    pub fn note(
        &mut self,
        contexts: [Context; 2],
        observations: impl Iterator<Item = (Color, BoardKey, Outcome)>,
    ) {
        let starts = [0, 1].map(|side| self.noted[side].len());
        for (color, key, outcome) in observations {
            self.noted[color.fold_wb(0, 1)].push(note(key, outcome));
        }
        for (side, context) in contexts.into_iter().enumerate() {
            let notes = starts[side]..self.noted[side].len();
            self.games.push((context, side, notes));
        }
    }

    /// Keeps only some of the games noted since the last count; a flag for each.
    pub fn keep(&mut self, games: &[bool]) {
        let mut nth = 0;
        // Two entries a game, one for each side.
        self.games.retain(|_| {
            nth += 1;
            games.get((nth - 1) / 2).copied().unwrap_or(true)
        });
    }

    /// The counts of what was noted since the last call.
    pub fn count(&mut self) -> Counts {
        self.games.sort_unstable_by_key(|&(context, ..)| context);
        let mut counts = Counts::default();
        for games in self.games.chunk_by(|one, other| one.0 == other.0) {
            let start = counts.notes.len();
            for (_, side, notes) in games {
                for &note in &self.noted[*side][notes.clone()] {
                    let counter = &mut self.counters[usize::from(note)];
                    if *counter == 0 {
                        counts.notes.push((note, 0));
                    }
                    *counter += 1;
                }
            }
            for (note, count) in &mut counts.notes[start..] {
                *count = std::mem::take(&mut self.counters[usize::from(*note)]);
            }
            counts.contexts.push((games[0].0, counts.notes.len()));
        }
        self.games.clear();
        self.noted.iter_mut().for_each(Vec::clear);
        counts
    }
}
