//! The files of a folder counted, table by table.

use std::path::Path;

use hobble_terms::manifest::{Manifest, Source};
use hobble_terms::table::ALL_SOURCES;
use hobble_terms::{Reason, Table};

use super::decisions::decisions;
use super::games::{GameStarts, Numbers, games, skipped};
use super::moves::moves;
use super::players;
use super::sides;
use super::spells::spells;
use super::totals::Totals;
use super::turns::turns;
use crate::error::Error;
use crate::exposure::EXPOSURE;
use crate::rows::read;

/// Counts the files that the manifest names.
pub(super) fn count(folder: &Path, manifest: &Manifest) -> Result<Totals, Error> {
    let mut totals = Totals::default();
    for source in &manifest.sources {
        count_source(folder, source, &manifest.parameters.tables, &mut totals)?;
    }
    if let Some(path) = manifest.cube_file(folder) {
        *totals.rows.entry(Table::Exposure).or_default() += exposure(&path, &mut totals)?;
        if manifest.parameters.tables.contains(&Table::Sides) {
            sides::exposure(&path, &mut totals.sides)?;
        }
    }
    if let Some(file) = manifest.players {
        let path = Table::Players.part_file(folder, ALL_SOURCES, file.part);
        let rows = players::players(&path, &mut totals.players)?;
        *totals.rows.entry(Table::Players).or_default() += rows;
    }
    let account = &mut totals.account;
    account.repeats = account.skipped.remove(Reason::Repeat.name()).unwrap_or(0);
    account.read = account.kept + account.repeats + account.skipped_total();
    totals.moves_ids.sort_unstable();
    Ok(totals)
}

fn count_source(
    folder: &Path,
    source: &Source,
    tables: &[Table],
    totals: &mut Totals,
) -> Result<(), Error> {
    let mut numbers = Numbers::default();
    let mut starts = GameStarts::default();
    for part in &source.parts {
        totals.captured.begin_part();
        // Games before their moves, and these before spells.
        let of_all = &Table::OF_ALL_SOURCES;
        let own = |table: &&Table| !of_all.contains(table) || part.tables.contains_key(table);
        let wanted = Table::ALL.iter().filter(|table| tables.contains(table));
        for &table in wanted.filter(own) {
            let path = table.part_file(folder, &source.source, part.part);
            let rows = count_file(table, &path, totals, &mut numbers, &mut starts)?;
            if tables.contains(&Table::Sides) {
                add_sides(table, &path, &mut totals.sides)?;
            }
            if table == Table::Games && tables.contains(&Table::Players) {
                players::games(&path, &mut totals.players)?;
            }
            *totals.rows.entry(table).or_default() += rows;
        }
    }
    totals.broken_games += starts.len() as u64;
    totals.numbered_games += numbers.count;
    if numbers.is_whole() {
        totals.last_numbers += numbers.highest;
    }
    Ok(())
}

/// Counts a file; returns the number of its rows.
fn count_file(
    table: Table,
    path: &Path,
    totals: &mut Totals,
    numbers: &mut Numbers,
    starts: &mut GameStarts,
) -> Result<u64, Error> {
    match table {
        Table::Games => games(path, totals, numbers, starts),
        Table::Skipped => skipped(path, totals, numbers),
        Table::Moves => moves(path, totals, starts),
        Table::Spells => spells(path, totals),
        Table::Turns => turns(path, totals),
        Table::Decisions => decisions(path, totals),
        Table::Sides => sides::sides(path, &mut totals.sides),
        Table::Players => players::players(path, &mut totals.players),
        Table::Exposure => exposure(path, totals),
    }
}

/// Adds up what a file says of sums in `sides`.
fn add_sides(table: Table, path: &Path, sums: &mut sides::Sides) -> Result<(), Error> {
    match table {
        Table::Moves => sides::moves(path, sums),
        Table::Spells => sides::spells(path, sums),
        Table::Decisions => sides::decisions(path, sums),
        Table::Exposure => sides::exposure(path, sums),
        Table::Games | Table::Skipped | Table::Turns | Table::Sides | Table::Players => Ok(()),
    }
}

/// Counts a cube; returns the number of its rows.
fn exposure(path: &Path, totals: &mut Totals) -> Result<u64, Error> {
    read(path, &[EXPOSURE.turns.name()], |rows| {
        let turns = rows.read(EXPOSURE.turns)?;
        totals.account.observations += turns.values().iter().sum::<i64>() as u64;
        Ok(())
    })
}
