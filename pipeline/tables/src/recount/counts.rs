//! What the files of a folder hold, counted.

use std::collections::BTreeMap;
use std::path::Path;

use hobble_terms::Table;
use hobble_terms::account::Account;
use hobble_terms::manifest::{Manifest, Source};

use super::games::{GameStarts, Numbers, count_words, games, skipped};
use super::moves::moves;
use super::rows::read;
use crate::error::Error;
use crate::exposure::EXPOSURE;
use crate::spells::SPELLS;

/// What the files of a folder hold.
#[derive(Default)]
pub(super) struct Counts {
    /// By `games`, `skipped`, `spells` and `exposure`.
    pub account: Account,
    /// By `moves`.
    pub moves: Account,
    /// Turns × pieces by `moves`, the pieces counted down from the start of each game.
    pub observations_of_moves: u64,
    /// Games whose plies are not 1, 2, 3 … to their number.
    pub broken_games: u64,
    /// Rows of each table.
    pub rows: BTreeMap<Table, u64>,
    /// The `moves_id` of each game.
    pub moves_ids: Vec<u64>,
    /// Games by `games` and `skipped`.
    pub numbered_games: u64,
    /// Sum of the last numbers of the sources whose games are numbered 1, 2, 3 ….
    pub last_numbers: u64,
}

impl Counts {
    /// Counts the files that the manifest names.
    pub fn of(folder: &Path, manifest: &Manifest) -> Result<Counts, Error> {
        let mut counts = Counts::default();
        for source in &manifest.sources {
            counts.add_source(folder, source, &manifest.parameters.tables)?;
        }
        let account = &mut counts.account;
        account.read = account.kept + account.skipped.values().sum::<u64>();
        counts.moves_ids.sort_unstable();
        Ok(counts)
    }

    fn add_source(
        &mut self,
        folder: &Path,
        source: &Source,
        tables: &[Table],
    ) -> Result<(), Error> {
        let mut numbers = Numbers::default();
        let mut starts = GameStarts::default();
        for part in &source.parts {
            for table in Table::ALL.iter().filter(|table| tables.contains(table)) {
                let path = table.part_file(folder, &source.source, part.part);
                let rows = self.add_file(*table, &path, &mut numbers, &mut starts)?;
                *self.rows.entry(*table).or_default() += rows;
            }
        }
        self.broken_games += starts.len() as u64;
        self.numbered_games += numbers.count;
        if numbers.is_whole() {
            self.last_numbers += numbers.highest;
        }
        Ok(())
    }

    /// Counts a file; returns the number of its rows. Games come before their moves.
    fn add_file(
        &mut self,
        table: Table,
        path: &Path,
        numbers: &mut Numbers,
        starts: &mut GameStarts,
    ) -> Result<u64, Error> {
        match table {
            Table::Games => games(path, self, numbers, starts),
            Table::Skipped => skipped(path, self, numbers),
            Table::Moves => moves(path, self, starts),
            Table::Spells => read(path, &[SPELLS.end.name()], |rows| {
                count_words(rows.read(SPELLS.end)?, &mut self.account.spells);
                Ok(())
            }),
            Table::Exposure => read(path, &[EXPOSURE.turns.name()], |rows| {
                let turns = rows.read(EXPOSURE.turns)?;
                self.account.observations += turns.values().iter().sum::<u64>();
                Ok(())
            }),
        }
    }

    /// Games that share their start and moves with another game.
    pub fn repeats(&self) -> u64 {
        self.moves_ids
            .chunk_by(|a, b| a == b)
            .filter(|same| same.len() > 1)
            .map(|same| same.len() as u64)
            .sum()
    }
}
