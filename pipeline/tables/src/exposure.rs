//! The table `exposure`: observations added up in a cube.

use std::ops::Range;

use arrow_array::types::UInt64Type;
use rustc_hash::FxHashMap;
use shakmaty::Color;

use hobble_game::tags::{Band, RatingDiff};
use hobble_game::time_control::TimeClass;
use hobble_tracks::exposure::{BoardKey, HORIZONS, Outcome, within};
use hobble_tracks::material::Phase;

use crate::column::{Codes, Flags, KINDS, Longs, Numbers, Texts, kind_code};
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

const NO_CELL: u32 = 0;

/// Counts of outcomes by keys.
pub struct Cube {
    contexts: FxHashMap<Context, u32>,
    /// Place of each cell, one row of [`BoardKey::COUNT`] for each context; 0 for none.
    places: Vec<u32>,
    cells: Vec<[u32; Outcome::COUNT]>,
}

impl Default for Cube {
    fn default() -> Self {
        Cube {
            contexts: FxHashMap::default(),
            places: Vec::new(),
            // Cell 0 is never used: place 0 means none.
            cells: vec![[0; Outcome::COUNT]],
        }
    }
}

impl Cube {
    /// The row of a context.
    fn context(&mut self, context: Context) -> u32 {
        let next = self.contexts.len() as u32;
        let row = *self.contexts.entry(context).or_insert(next);
        if row == next {
            self.places
                .resize((next as usize + 1) * BoardKey::COUNT, NO_CELL);
        }
        row
    }

    #[inline]
    fn cell(&mut self, row: u32, key: usize) -> &mut [u32; Outcome::COUNT] {
        let place = &mut self.places[row as usize * BoardKey::COUNT + key];
        if *place == NO_CELL {
            *place = self.cells.len() as u32;
            self.cells.push([0; Outcome::COUNT]);
        }
        &mut self.cells[*place as usize]
    }

    /// Number of cells.
    pub fn len(&self) -> usize {
        self.cells.len() - 1
    }

    /// Whether nothing was counted.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Adds the counts of another cube.
    pub fn merge(&mut self, other: &Cube) {
        for (&context, &row) in &other.contexts {
            let mine = self.context(context);
            for index in 0..BoardKey::COUNT {
                let place = other.places[row as usize * BoardKey::COUNT + index];
                if place == NO_CELL {
                    continue;
                }
                let cell = self.cell(mine, index);
                for (mine, theirs) in cell.iter_mut().zip(&other.cells[place as usize]) {
                    *mine += theirs;
                }
            }
        }
    }

    /// The cells as rows, sorted by their keys, for bands of a width.
    pub fn rows(&self, band_width: u16) -> CubeColumns {
        let mut contexts: Vec<_> = self.contexts.iter().collect();
        contexts.sort();
        let mut rows = CubeColumns::default();
        for (context, &row) in contexts {
            for index in 0..BoardKey::COUNT {
                let place = self.places[row as usize * BoardKey::COUNT + index];
                if place != NO_CELL {
                    let key = BoardKey::from_index(index as u16);
                    rows.push(context, band_width, key, &self.cells[place as usize]);
                }
            }
        }
        rows
    }
}

/// Observations written down game by game, and counted context by context: the cells of one
/// context stay near the processor, those of all do not.
#[derive(Default)]
pub struct Tally {
    cube: Cube,
    /// Observations by side, each a key and an outcome.
    noted: [Vec<u16>; 2],
    /// Row of a game's context, its side, and where its observations stand.
    games: Vec<(u32, usize, Range<usize>)>,
}

const OUTCOME_BITS: u32 = 5;
const _: () = assert!(Outcome::COUNT <= 1 << OUTCOME_BITS);
const _: () = assert!(BoardKey::COUNT << OUTCOME_BITS <= 1 << u16::BITS);

impl Tally {
    /// Notes the observations of a game; `contexts` are White's and Black's.
    pub fn note(
        &mut self,
        contexts: [Context; 2],
        observations: impl Iterator<Item = (Color, BoardKey, Outcome)>,
    ) {
        let starts = [0, 1].map(|side| self.noted[side].len());
        for (color, key, outcome) in observations {
            let note = key.index() << OUTCOME_BITS | outcome.index();
            self.noted[color.fold_wb(0, 1)].push(note as u16);
        }
        for (side, context) in contexts.into_iter().enumerate() {
            let row = self.cube.context(context);
            let notes = starts[side]..self.noted[side].len();
            self.games.push((row, side, notes));
        }
    }

    /// Counts what was noted.
    pub fn count(&mut self) {
        self.games.sort_unstable_by_key(|&(row, ..)| row);
        for (row, side, notes) in self.games.drain(..) {
            for &note in &self.noted[side][notes] {
                let cell = self.cube.cell(row, usize::from(note >> OUTCOME_BITS));
                cell[usize::from(note) & ((1 << OUTCOME_BITS) - 1)] += 1;
            }
        }
        self.noted.iter_mut().for_each(Vec::clear);
    }

    /// The counts since the last call.
    pub fn take(&mut self) -> Cube {
        self.count();
        std::mem::take(&mut self.cube)
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
            kind: Codes::of(KINDS),
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
        self.kind.push(kind_code(key.kind()));
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
