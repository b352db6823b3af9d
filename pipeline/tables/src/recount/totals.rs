//! Figures of the files of a folder, added up.

use std::collections::{BTreeMap, HashSet};

use hobble_terms::Table;
use hobble_terms::account::Account;

use super::captures::CapturedUnits;
use super::players::Players;
use super::sides::Sides;

/// Pieces at their landmarks, by game, slot and position.
pub(super) type Landmarks = HashSet<(i32, i8, i16)>;

/// What the table `turns` says.
#[derive(Default)]
pub(super) struct Turns {
    /// Pieces at landmarks by `spells`.
    pub landmarks_of_spells: u64,
    /// Pieces at landmarks by `turns`.
    pub landmarks: u64,
    /// Of these, those that are at one by `spells` too.
    pub same_landmarks: u64,
    /// Rows whose fate is not that of the unit captured by that ply.
    pub other_fates: u64,
    /// Rows that are neither in the sample nor at a landmark turn.
    pub unasked: u64,
    /// Landmarks of the part that is being read, by `spells`.
    pub part: Landmarks,
}

/// What the table `decisions` says.
#[derive(Default)]
pub(super) struct Decisions {
    /// Rows whose fate is not that of the unit captured by that ply.
    pub other_fates: u64,
    /// Rows whose columns contradict each other.
    pub contradictions: u64,
}

/// Figures of the files of a folder.
#[derive(Default)]
pub(super) struct Totals {
    /// By `games`, `skipped`, `spells` and `exposure`.
    pub account: Account,
    /// By `moves`.
    pub moves: Account,
    /// Turns × pieces by `moves`, the pieces counted down from the start of each game.
    pub observations_of_moves: u64,
    /// Games whose plies are not 1, 2, 3 … to their number.
    pub broken_games: u64,
    /// Captured units by `moves` and `spells`.
    pub captured: CapturedUnits,
    /// Landmarks by `spells` and `turns`.
    pub turns: Turns,
    /// Chances to restrain by `decisions`.
    pub decisions: Decisions,
    /// Sums of `sides`, by itself and by other tables.
    pub sides: Sides,
    /// Players by `games` and `players`.
    pub players: Players,
    /// Rows of each table.
    pub rows: BTreeMap<Table, u64>,
    /// The `moves_id` of each game.
    pub moves_ids: Vec<u64>,
    /// Games by `games` and `skipped`.
    pub numbered_games: u64,
    /// Sum of the last numbers of the sources whose games are numbered 1, 2, 3 ….
    pub last_numbers: u64,
}

impl Totals {
    /// Games that share their start and moves with another game.
    pub fn repeats(&self) -> u64 {
        self.moves_ids
            .chunk_by(|a, b| a == b)
            .filter(|same| same.len() > 1)
            .map(|same| same.len() as u64)
            .sum()
    }
}
