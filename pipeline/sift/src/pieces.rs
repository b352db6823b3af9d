//! What is counted of one half of the games: free pieces by stratum, and the restrained ones row by
//! row, with what stands beside them in their positions.

use hobble_claim::cells::{Cells, Row};
use hobble_claim::side_by_side::Counted;
use hobble_claim::stratum::{Matched, Stratum};
use hobble_claim::turn::{self, Turn};
use hobble_claim::twins::{self, Owners};
use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_dataset::part::run_length;
use hobble_dataset::{Dataset, Part, PartId};
use hobble_terms::Table;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

use crate::grid::Grid;
use crate::split::{Half, Split};

/// Bits of the events counted of free pieces.
const MET: u16 = 1;
const OTHER_LOST: u16 = 2;

/// The outcome, as an event of [`Pieces::free`].
pub const OUTCOME: usize = 1;

/// Another piece of the side lost, as such an event.
pub const ANOTHER_LOST: usize = 2;

/// A piece at a turn.
#[derive(Debug, Clone, Copy)]
pub struct Piece {
    /// The row.
    pub turn: Turn,
    /// Number of its part.
    pub part: u32,
    /// Conditions of the grid that it meets, a bit each.
    pub bits: u32,
}

/// Rows of free pieces at one k that meet the same of the conditions asked of free pieces.
type FreeRows = FxHashMap<(u8, u32), Vec<Row>>;

/// What is counted of one half.
#[derive(Debug, Default)]
pub struct Pieces {
    /// Restrained pieces, and the others of their kind and side in the same positions.
    pub restrained: Vec<Piece>,
    /// The parts by number.
    pub parts: Vec<PartId>,
    free: FxHashMap<(u8, u32), Cells>,
    /// One turn in so many is in the sample.
    pub sample: u32,
    /// The players of the games that the restrained pieces are from, by number of the part.
    pub owners: Vec<Owners>,
}

impl Piece {
    /// Whether it is restrained at this k for so many turns, that one counted.
    pub fn is_own(&self, k: u8, turns: u32) -> bool {
        let restrained = u32::from(self.turn.restrained[usize::from(k)]);
        restrained > 0 && restrained + 1 == turns
    }

    /// Whether it is free at this k.
    pub fn is_free(&self, k: u8) -> bool {
        let most = self.turn.free_beside_restrained();
        most.is_some_and(|most| most >= k)
    }

    /// Turns that it stands for.
    pub fn weight(&self, sample: u32) -> u32 {
        if self.turn.landmark { 1 } else { sample }
    }
}

impl Pieces {
    /// Reads a half.
    ///
    /// # Errors
    ///
    /// Where the table `turns` is missing or unreadable.
    pub fn read(
        dataset: &Dataset,
        split: &Split,
        half: Half,
        grid: &Grid,
    ) -> Result<Pieces, AskError> {
        let sample = dataset.parameters().sample.get();
        let mut pieces = Pieces {
            sample,
            ..Pieces::default()
        };
        let mut free = FreeRows::default();
        for part in dataset.parts(Table::Turns)? {
            let number = pieces.parts.len() as u32;
            pieces.parts.push(part.id().clone());
            pieces.owners.push(Owners::default());
            let Some(games) = split.games(half, part.id()) else {
                continue;
            };
            let reader = Reader {
                grid,
                games,
                part: number,
                sample,
                of_free: grid.of_free(),
            };
            let (restrained, more) = reader.read(&part)?;
            // Twins are asked of the locked half alone.
            if half == Half::Locked
                && let Some(of_part) = dataset.part(Table::Games, part.id())
            {
                let games = restrained.iter().map(|piece| piece.turn.game).collect();
                pieces.owners[number as usize] = twins::owners(&of_part, games)?;
            }
            pieces.restrained.extend(restrained);
            for (place, rows) in more {
                free.entry(place).or_default().extend(rows);
            }
        }
        pieces.fill(free);
        Ok(pieces)
    }

    /// Of rows given one by one, in the order of their positions.
    pub fn of_turns(rows: &[(Turn, u32)], sample: u32, grid: &Grid) -> Pieces {
        let mut pieces = Pieces {
            parts: vec![PartId {
                source: "rows".to_owned(),
                number: 0,
            }],
            owners: vec![Owners::default()],
            sample,
            ..Pieces::default()
        };
        let games = FxHashSet::default();
        let reader = Reader {
            grid,
            games: &games,
            part: 0,
            sample,
            of_free: grid.of_free(),
        };
        let mut found = Found::default();
        for (turn, bits) in rows {
            reader.note(turn, *bits, &mut found);
        }
        reader.close(&mut found);
        pieces.restrained = found.restrained;
        pieces.fill(found.free);
        pieces
    }

    fn fill(&mut self, free: FreeRows) {
        let free: Vec<_> = free.into_iter().collect();
        let cells = free.into_par_iter();
        let cells = cells.map(|(place, rows)| (place, Cells::of_rows(vec![rows])));
        self.free = cells.collect::<Vec<_>>().into_iter().collect();
    }

    /// The free pieces of a kind at a k that meet these conditions of the grid, as far as their strata
    /// do not imply: all of them, and those to whom an event came, by stratum and fold.
    pub fn free(&self, kind: Kind, k: u8, of_free: u32, event: usize) -> Vec<Counted> {
        let cells = self.free.iter();
        let cells = cells.filter(|((of_k, bits), _)| *of_k == k && bits & of_free == of_free);
        cells
            .flat_map(|(_, cells)| cells.of(kind as usize, [0, event]))
            .collect()
    }
}

/// What is read of a run of row groups.
#[derive(Default)]
struct Found {
    restrained: Vec<Piece>,
    free: FreeRows,
    /// Rows of one position, looked at together.
    position: Vec<Piece>,
}

struct Reader<'a> {
    grid: &'a Grid,
    games: &'a FxHashSet<u32>,
    part: u32,
    sample: u32,
    of_free: u32,
}

impl Reader<'_> {
    fn read(&self, part: &Part) -> Result<(Vec<Piece>, FreeRows), AskError> {
        let filters = self.grid.filters();
        let groups = part.groups()?;
        let found = groups
            .par_chunks(2 * run_length(groups.len()))
            .map(|run| {
                let mut found = Found::default();
                for group in run {
                    turn::for_each(&filters, &[], part, *group, |turn| {
                        if self.games.contains(&turn.game) {
                            self.note(turn, turn.passes >> 1, &mut found);
                        }
                    })?;
                    // A game lies in one row group.
                    self.close(&mut found);
                }
                Ok::<_, AskError>(found)
            })
            .collect::<Result<Vec<_>, _>>()?;
        let (mut restrained, mut free) = (Vec::new(), FreeRows::default());
        for found in found {
            restrained.extend(found.restrained);
            for (place, rows) in found.free {
                free.entry(place).or_default().extend(rows);
            }
        }
        Ok((restrained, free))
    }

    fn note(&self, turn: &Turn, bits: u32, found: &mut Found) {
        let piece = Piece {
            turn: *turn,
            part: self.part,
            bits,
        };
        let same = found
            .position
            .first()
            .is_some_and(|first| (first.turn.game, first.turn.ply) == (turn.game, turn.ply));
        if !same {
            self.close(found);
        }
        found.position.push(piece);
        let Some(most) = turn.free_beside_restrained() else {
            return;
        };
        let (outcome, within) = (self.grid.outcome(), self.grid.within());
        let mut came = 0;
        if turn.met(outcome, within) {
            came |= MET;
        }
        let in_time = |plies: u16| u32::from(plies) <= 2 * within;
        if turn.others_lost.is_some_and(in_time) {
            came |= OTHER_LOST;
        }
        for &k in self.grid.k().iter().filter(|k| **k <= most) {
            let stratum = Stratum::of(turn, k).matched(Matched::RESTRAINED);
            let place = (turn.kind as u8, stratum, turn.fold);
            let row = Row::new(place, piece.weight(self.sample), came);
            let bits = bits & self.of_free;
            found.free.entry((k, bits)).or_default().push(row);
        }
    }

    /// Keeps the rows of a position whose kind has a restrained piece in it.
    fn close(&self, found: &mut Found) {
        let is_own = |piece: &Piece| {
            let mut turns = self.grid.turns().iter();
            turns.any(|turns| self.grid.k().iter().any(|k| piece.is_own(*k, *turns)))
        };
        let own: Vec<Kind> = found
            .position
            .iter()
            .filter(|piece| is_own(piece))
            .map(|piece| piece.turn.kind)
            .collect();
        if !own.is_empty() {
            let position = found.position.iter();
            let kept = position.filter(|piece| own.contains(&piece.turn.kind));
            found.restrained.extend(kept);
        }
        found.position.clear();
    }
}
