//! What is counted of peers, by cell and fold.

use std::collections::{BTreeMap, HashSet};

use hobble_conditions::sum::{self, array, pairs};
use hobble_terms::FOLDS;
use serde::{Deserialize, Serialize};

use crate::count::{COUNTS, Count, Counts};
use crate::sides::Cell;
use crate::tally::{TURNS, Turns, add};

/// What is counted of sides in one fold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FoldCounts(#[serde(with = "array")] pub Counts);

/// What is counted of a cell.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CellCounts {
    /// By fold, those with a side.
    pub folds: BTreeMap<u8, FoldCounts>,
    /// Spells by their turns.
    #[serde(with = "array")]
    pub turns: Turns,
}

impl Default for CellCounts {
    fn default() -> CellCounts {
        CellCounts {
            folds: BTreeMap::new(),
            turns: [0; TURNS + 1],
        }
    }
}

impl CellCounts {
    /// The counts of a fold.
    pub fn fold(&mut self, fold: u8) -> &mut Counts {
        &mut (self.folds.entry(fold))
            .or_insert(FoldCounts([0; COUNTS]))
            .0
    }

    /// Sides counted.
    pub fn sides(&self) -> u64 {
        let sides = |counts: &FoldCounts| counts.0[Count::Games as usize];
        self.folds.values().map(sides).sum()
    }
}

/// What is counted of peers. It grows with the number of different names.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PeerCounts {
    /// By cell.
    #[serde(with = "pairs")]
    pub cells: BTreeMap<Cell, CellCounts>,
    /// Different spellings of names.
    pub names: HashSet<String>,
}

impl sum::State for PeerCounts {
    fn add(&mut self, other: PeerCounts) {
        for (cell, counts) in other.cells {
            let sum = self.cells.entry(cell).or_default();
            for (fold, FoldCounts(counts)) in counts.folds {
                add(sum.fold(fold), &counts);
            }
            add(&mut sum.turns, &counts.turns);
        }
        self.names.extend(other.names);
    }
}

impl PeerCounts {
    /// Counts by place (number of the cell × 64 + fold) and turns by number of the cell, by cell.
    pub(crate) fn of(
        cells: &[Cell],
        names: HashSet<String>,
        counts: impl IntoIterator<Item = (u32, Counts)>,
        turns: impl IntoIterator<Item = (u32, Turns)>,
    ) -> PeerCounts {
        let mut peers = PeerCounts {
            names,
            ..PeerCounts::default()
        };
        let folds = FOLDS as u32;
        for (place, counts) in counts {
            add(
                peers
                    .cell(&cells[(place / folds) as usize])
                    .fold((place % folds) as u8),
                &counts,
            );
        }
        for (cell, turns) in turns {
            add(&mut peers.cell(&cells[cell as usize]).turns, &turns);
        }
        peers
    }

    fn cell(&mut self, cell: &Cell) -> &mut CellCounts {
        self.cells.entry(cell.clone()).or_default()
    }

    /// Sides counted.
    pub fn sides(&self) -> u64 {
        self.cells.values().map(CellCounts::sides).sum()
    }
}
