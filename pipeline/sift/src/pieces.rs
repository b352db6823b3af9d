//! What is counted of one half of the games: restrained and free pieces by what they meet and by
//! stratum, and of the locked half twins of each claim that is asked.

use std::collections::BTreeMap;

use hobble_claim::cells::{Cells, Row};
use hobble_claim::side_by_side::Counted;
use hobble_claim::stratum::{Matched, Stratum};
use hobble_claim::turn::{self, Turn};
use hobble_claim::twins::{self, Owners, Sets};
use hobble_conditions::AskError;
use hobble_conditions::sum::{self, State};
use hobble_conditions::terms::Kind;
use hobble_dataset::part::run_length;
use hobble_dataset::{Part, PartId};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use crate::grid::{Grid, Tried};

/// Bits of the events counted.
const MET: u16 = 1;
const OTHER_LOST: u16 = 2;

/// The outcome, as an event.
pub const OUTCOME: usize = 1;

/// Another piece of the side lost, as an event.
pub const ANOTHER_LOST: usize = 2;

/// Which restrained pieces: k, turns restrained by then, and the conditions of the grid that they meet, a bit
/// each.
type Restrained = (u8, u32, u32);

/// Which free pieces: k, and the conditions asked of free pieces that they meet.
type Free = (u8, u32);

/// What is counted of one half. It grows with what pieces meet, not with the number of games, but for
/// twins: a few in a thousand games.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Pieces {
    #[serde(with = "sum::hashed")]
    restrained: FxHashMap<Restrained, Cells>,
    #[serde(with = "sum::hashed")]
    free: FxHashMap<Free, Cells>,
    /// Of the claims asked, by name.
    twins: BTreeMap<String, Sets>,
}

impl State for Pieces {
    fn add(&mut self, other: Pieces) {
        for (which, cells) in other.restrained {
            self.restrained.entry(which).or_default().add(cells);
        }
        for (which, cells) in other.free {
            self.free.entry(which).or_default().add(cells);
        }
        for (claim, sets) in other.twins {
            self.twins.entry(claim).or_default().add(sets);
        }
    }
}

impl Pieces {
    /// Of a part of the half in which claims are looked for, with these games; one turn in `sample` is
    /// in the sample.
    ///
    /// # Errors
    ///
    /// Where the table is unreadable.
    pub fn searched(
        turns: &Part,
        games: &FxHashSet<u32>,
        grid: &Grid,
        sample: u32,
    ) -> Result<Pieces, AskError> {
        Reader::of(grid, sample, None).read(turns, games)
    }

    /// Of a part of the locked half: what these claims ask.
    ///
    /// # Errors
    ///
    /// Where the table is unreadable.
    pub fn unlocked(
        turns: &Part,
        games: &FxHashSet<u32>,
        grid: &Grid,
        sample: u32,
        claims: &[&Tried],
    ) -> Result<Pieces, AskError> {
        Reader::of(grid, sample, Some(claims)).read(turns, games)
    }

    /// Of rows given one by one, in the order of their positions, with twins of all claims.
    pub fn of_turns(rows: &[(Turn, u32)], sample: u32, grid: &Grid) -> Pieces {
        let all: Vec<&Tried> = grid.tried().iter().collect();
        let reader = Reader::of(grid, sample, Some(&all));
        let mut found = Found::default();
        for (turn, bits) in rows {
            reader.note(turn, *bits, &mut found);
        }
        reader.close(&mut found);
        let part = PartId {
            source: "rows".to_owned(),
            number: 0,
        };
        reader.count(&part, vec![found])
    }

    /// Names the owners of twins of a part, from its table of games.
    ///
    /// # Errors
    ///
    /// Where the table is unreadable.
    pub fn name_owners(&mut self, games: &Part) -> Result<(), AskError> {
        let sets = self.twins.values();
        let wanted = sets.flat_map(|sets| sets.telling_games(games.id()));
        let owners = twins::owners(games, wanted.collect())?;
        self.name(games.id(), &owners);
        Ok(())
    }

    /// Names the owners of twins of a part.
    pub fn name(&mut self, part: &PartId, owners: &Owners) {
        for sets in self.twins.values_mut() {
            sets.name(part, owners);
        }
    }

    /// The claim's pieces: all of them, and those to whom an event came, by stratum and fold.
    pub fn restrained(&self, claim: &Tried, event: usize) -> Vec<Counted> {
        let same = self.restrained.iter().filter(|((k, turns, bits), _)| {
            (*k, *turns) == (claim.k, claim.turns) && bits & claim.bits == claim.bits
        });
        same.flat_map(|(_, cells)| cells.of(claim.kind as usize, [0, event]))
            .collect()
    }

    /// The same of free pieces of a kind at a k that meet these conditions of the grid, as far as their
    /// strata do not imply.
    pub fn free(&self, kind: Kind, k: u8, of_free: u32, event: usize) -> Vec<Counted> {
        let cells = self.free.iter();
        let cells = cells.filter(|((of_k, bits), _)| *of_k == k && bits & of_free == of_free);
        cells
            .flat_map(|(_, cells)| cells.of(kind as usize, [0, event]))
            .collect()
    }

    /// The claim's pieces with a free one of their kind and side in the same position.
    pub fn twins(&self, claim: &Tried) -> Sets {
        let sets = self.twins.get(&claim.claim.name);
        sets.cloned().unwrap_or_default()
    }
}

/// What is read of a run of row groups.
#[derive(Default)]
struct Found {
    restrained: FxHashMap<Restrained, Vec<Row>>,
    free: FxHashMap<Free, Vec<Row>>,
    /// Rows of twins, by the number of the claim.
    twins: Vec<Vec<twins::Row>>,
    /// Pieces of one position with what they meet, looked at together.
    position: Vec<(Turn, u32)>,
}

struct Reader<'a> {
    grid: &'a Grid,
    sample: u32,
    /// The claims that are asked; all of the grid, but none of twins, where none are named.
    claims: Option<&'a [&'a Tried]>,
    of_free: u32,
    of_both: u32,
}

/// Whether a piece is one of a claim's.
fn is_own(claim: &Tried, turn: &Turn, bits: u32) -> bool {
    claim.kind == turn.kind
        && bits & claim.bits == claim.bits
        && turns_restrained(turn, claim.k) == Some(claim.turns)
}

/// Turns that a piece is restrained for at this k, that one counted; `None` where it is not.
fn turns_restrained(turn: &Turn, k: u8) -> Option<u32> {
    let restrained = u32::from(turn.restrained[usize::from(k)]);
    (restrained > 0).then_some(restrained + 1)
}

impl<'a> Reader<'a> {
    fn of(grid: &'a Grid, sample: u32, claims: Option<&'a [&'a Tried]>) -> Reader<'a> {
        Reader {
            grid,
            sample,
            claims,
            of_free: grid.of_free(),
            of_both: grid.of_both(),
        }
    }

    fn read(&self, turns: &Part, games: &FxHashSet<u32>) -> Result<Pieces, AskError> {
        let filters = self.grid.filters();
        let groups = turns.groups()?;
        let found = groups
            .par_chunks(2 * run_length(groups.len()))
            .map(|run| {
                let mut found = Found::default();
                for group in run {
                    turn::for_each(&filters, &[], turns, *group, |turn| {
                        if games.contains(&turn.game) {
                            self.note(turn, turn.passes >> 1, &mut found);
                        }
                    })?;
                    // A game lies in one row group.
                    self.close(&mut found);
                }
                Ok::<_, AskError>(found)
            })
            .collect::<Result<Vec<_>, _>>()?;
        Ok(self.count(turns.id(), found))
    }

    /// Counts what was read of a part.
    fn count(&self, part: &PartId, found: Vec<Found>) -> Pieces {
        let (mut restrained, mut free) = (FxHashMap::default(), FxHashMap::default());
        let claims = self.claims.unwrap_or_default();
        let mut twins = vec![Vec::new(); claims.len()];
        for run in found {
            join(&mut restrained, run.restrained);
            join(&mut free, run.free);
            for (all, more) in twins.iter_mut().zip(run.twins) {
                all.extend(more);
            }
        }
        let sets = claims.iter().zip(twins);
        Pieces {
            restrained: cells(restrained),
            free: cells(free),
            twins: sets
                .map(|(claim, rows)| (claim.claim.name.clone(), Sets::of(part, rows)))
                .collect(),
        }
    }

    fn note(&self, turn: &Turn, bits: u32, found: &mut Found) {
        if !self.grid.kinds().contains(&turn.kind) {
            return;
        }
        if self.claims.is_some() {
            let same = (found.position.first())
                .is_some_and(|(first, _)| (first.game, first.ply) == (turn.game, turn.ply));
            if !same {
                self.close(found);
            }
            found.position.push((*turn, bits));
        }
        let row = |k: u8| {
            let stratum = Stratum::of(turn, k).matched(Matched::RESTRAINED);
            let place = (turn.kind as u8, stratum, turn.fold);
            // Turns with a landmark are all there.
            let stands_for = if turn.landmark { 1 } else { self.sample };
            Row::new(place, stands_for, self.came(turn))
        };
        for &k in self.grid.k() {
            let Some(turns) = turns_restrained(turn, k) else {
                continue;
            };
            if self.grid.turns().contains(&turns) && self.asks(|claim| is_own(claim, turn, bits)) {
                let which = (k, turns, bits);
                found.restrained.entry(which).or_default().push(row(k));
            }
        }
        let Some(most) = turn.free_beside_restrained() else {
            return;
        };
        let bits = bits & self.of_free;
        for &k in self.grid.k().iter().filter(|k| **k <= most) {
            let compared = |claim: &Tried| {
                let of_claim = claim.bits & self.of_free;
                (claim.kind, claim.k) == (turn.kind, k) && bits & of_claim == of_claim
            };
            if self.asks(compared) {
                found.free.entry((k, bits)).or_default().push(row(k));
            }
        }
    }

    /// Whether one of the claims asks for this.
    fn asks(&self, this: impl Fn(&Tried) -> bool) -> bool {
        let claims = self.claims;
        claims.is_none_or(|claims| claims.iter().any(|claim| this(claim)))
    }

    /// The events that came to a piece.
    fn came(&self, turn: &Turn) -> u16 {
        let within = self.grid.within();
        let mut came = 0;
        if turn.met(self.grid.outcome(), within) {
            came |= MET;
        }
        let in_time = |plies: u16| u32::from(plies) <= 2 * within;
        if turn.others_lost.is_some_and(in_time) {
            came |= OTHER_LOST;
        }
        came
    }

    /// Keeps the rows of a position in which a claim has a piece, for its twins.
    fn close(&self, found: &mut Found) {
        let claims = self.claims.unwrap_or_default();
        found.twins.resize_with(claims.len(), Vec::new);
        for (claim, rows) in claims.iter().zip(&mut found.twins) {
            let position = found.position.iter();
            if !position
                .clone()
                .any(|(turn, bits)| is_own(claim, turn, *bits))
            {
                continue;
            }
            let of_both = claim.bits & self.of_both;
            let may_be_twins = position
                .filter(|(turn, bits)| turn.kind == claim.kind && bits & of_both == of_both);
            rows.extend(may_be_twins.filter_map(|(turn, bits)| {
                let free = turn.free_beside_restrained();
                let free = free.is_some_and(|most| most >= claim.k);
                twins::row(&claim.claim, turn, is_own(claim, turn, *bits), free)
            }));
        }
        found.position.clear();
    }
}

fn join<K: Eq + std::hash::Hash>(
    all: &mut FxHashMap<K, Vec<Vec<Row>>>,
    more: FxHashMap<K, Vec<Row>>,
) {
    for (which, rows) in more {
        all.entry(which).or_default().push(rows);
    }
}

fn cells<K: Eq + std::hash::Hash + Send>(rows: FxHashMap<K, Vec<Vec<Row>>>) -> FxHashMap<K, Cells> {
    let rows: Vec<_> = rows.into_iter().collect();
    let cells = rows.into_par_iter();
    let cells = cells.map(|(which, rows)| (which, Cells::of_rows(rows)));
    cells.collect::<Vec<_>>().into_iter().collect()
}
