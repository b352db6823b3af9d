//! The table `exposure`: observations added up in a cube.

use std::ops::Range;

use arrow_array::types::UInt64Type;
use rustc_hash::FxHashMap;
use shakmaty::Color;

use hobble_terms::{Band, HORIZONS, Phase, RatingDiff, TimeClass, UNIT_NAMES, unit_code};
use hobble_tracks::exposure::{BoardKey, Outcome, within};

use crate::column::{Codes, Flags, Longs, Numbers, Texts};
use crate::encode::Columns;

/// The keys of an observation that do not change within a game.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Context {
    /// Owner's band.
    pub band: Band,
    /// Time class.
    pub time_class: TimeClass,
    /// Rating difference.
    pub rating_diff: RatingDiff,
    /// Fold.
    pub fold: u8,
}

/// Cells a cube is written at, whatever is still to come of its part: what bounds its memory
/// where an archive has ratings and time controls of all kinds. Rows of one key in one part add
/// up as those of two parts do.
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

    /// Hands out the cells as rows, sorted by their keys, for bands of a width; a limited
    /// number at a time, as rows are larger than cells.
    ///
    /// # Errors
    ///
    /// What `take` says.
    pub fn rows<E>(
        &self,
        band_width: u16,
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
                rows.push(context, band_width, key, &self.cells[place as usize]);
            }
            take(&mut rows)?;
        }
        Ok(())
    }
}

/// An observation in 16 bits: its key and its outcome.
const OUTCOME_BITS: u32 = 5;
const _: () = assert!(Outcome::COUNT <= 1 << OUTCOME_BITS);
const _: () = assert!(BoardKey::COUNT << OUTCOME_BITS <= 1 << u16::BITS);

#[inline]
fn note(key: BoardKey, outcome: Outcome) -> u16 {
    (key.index() << OUTCOME_BITS | outcome.index()) as u16
}

#[inline]
fn read_note(note: u16) -> (usize, usize) {
    let note = usize::from(note);
    (note >> OUTCOME_BITS, note & ((1 << OUTCOME_BITS) - 1))
}

/// Observations of a block of games, counted: those that are there, and how often.
#[derive(Default)]
pub struct Counts {
    /// Contexts, each with the end of its notes.
    contexts: Vec<(Context, usize)>,
    notes: Vec<(u16, u32)>,
}

/// Observations written down game by game, and counted context by context: the counters of
/// one context stay near the processor, those of all do not.
pub struct Tally {
    /// Observations by side, in 16 bits each.
    noted: [Vec<u16>; 2],
    /// A game's context, its side, and where its observations stand.
    games: Vec<(Context, usize, Range<usize>)>,
    /// How often each note was met in the context being counted.
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

/// Rows of `exposure`.
pub struct CubeColumns {
    kind: Codes,
    safe: Numbers<u8>,
    developed: Flags,
    attacked: Flags,
    defended: Flags,
    phase: Codes,
    band: Texts,
    time_class: Codes,
    rating_diff: Codes,
    fold: Numbers<u8>,
    turns: Longs<UInt64Type>,
    within: [[Longs<UInt64Type>; 4]; HORIZONS.len()],
}

impl Default for CubeColumns {
    fn default() -> Self {
        CubeColumns {
            kind: Codes::of(UNIT_NAMES),
            safe: Numbers::default(),
            developed: Flags::default(),
            attacked: Flags::default(),
            defended: Flags::default(),
            phase: Codes::of(Phase::ALL.map(Phase::name)),
            band: Texts::default(),
            time_class: Codes::of(TimeClass::ALL.map(TimeClass::name)),
            rating_diff: Codes::of(RatingDiff::ALL.map(RatingDiff::name)),
            fold: Numbers::default(),
            turns: Longs::default(),
            within: std::array::from_fn(|_| std::array::from_fn(|_| Longs::default())),
        }
    }
}

impl CubeColumns {
    fn push(
        &mut self,
        context: &Context,
        band_width: u16,
        key: BoardKey,
        cell: &[u32; Outcome::COUNT],
    ) {
        self.kind.push(unit_code(key.kind()));
        self.safe.push(key.safe());
        self.developed.push(key.developed());
        self.attacked.push(key.attacked());
        self.defended.push(key.defended());
        self.phase.push(key.phase() as u8);
        self.band.push(&context.band.name(band_width));
        self.time_class.push(context.time_class as u8);
        self.rating_diff.push(context.rating_diff as u8);
        self.fold.push(context.fold);
        self.turns.push(cell.iter().map(|&n| u64::from(n)).sum());
        for (columns, counts) in self.within.iter_mut().zip(within(cell)) {
            for (column, count) in columns.iter_mut().zip(counts) {
                column.push(count);
            }
        }
    }

    /// The columns, in the order of the schema.
    pub fn columns(&mut self) -> Columns<'_> {
        let mut columns = Columns::new(self.safe.len());
        columns.add("kind", &mut self.kind);
        columns.add("safe", &mut self.safe);
        columns.add("developed", &mut self.developed);
        columns.add("attacked", &mut self.attacked);
        columns.add("defended", &mut self.defended);
        columns.add("phase", &mut self.phase);
        columns.add("band", &mut self.band);
        columns.add("time_class", &mut self.time_class);
        columns.add("rating_diff", &mut self.rating_diff);
        columns.add("fold", &mut self.fold);
        columns.add("turns", &mut self.turns);
        for (moves, horizon) in HORIZONS.iter().zip(&mut self.within) {
            for (what, column) in ["lost", "traded", "sold", "over"].iter().zip(horizon) {
                columns.add(&format!("{what}_{moves}"), column);
            }
        }
        columns
    }
}
