//! The file of the table `players`: one row a player, from the games of all archives together.
//!
//! It is written when a scan has ended, like the cube of the whole: [`write`] goes through `games`,
//! and through `sides` for titles, as often as it takes to hold at most `MOST_PLAYERS` at a time.

mod rounds;

use std::path::Path;

use hobble_terms::Table;
use hobble_terms::manifest::{Manifest, OneFile};
use hobble_terms::table::ALL_SOURCES;

use crate::coded_pages::Encoder;
use crate::error::Error;
use crate::layouts::Layouts;
use crate::part::{PartWriter, remove_unnamed};
use crate::players::PlayerColumns;
use rounds::Rounds;

/// Rows of a row group.
const ROWS: usize = 1 << 16;

/// Most players held at a time: some 100 MB. Ten million games of a million players take four
/// rounds.
const MOST_PLAYERS: usize = 1 << 18;

/// Writes the players of a finished scan as a new file; `None` where they are there, or its parameters do
/// not ask for them.
///
/// # Errors
///
/// Where tables cannot be read or written.
pub(crate) fn write(folder: &Path, manifest: &Manifest) -> Result<Option<OneFile>, Error> {
    if manifest.players.is_some() || !manifest.parameters.tables.contains(&Table::Players) {
        return Ok(None);
    }
    let part = manifest.part_count();
    let layouts = Layouts::new(&[Table::Players]).map_err(Error::Encode)?;
    let mut writer = PartWriter::create(folder, ALL_SOURCES, part, &layouts)?;
    let mut rows = PlayerColumns::default();
    let mut encoder = Encoder::default();
    let mut end_group = |rows: &mut PlayerColumns| -> Result<(), Error> {
        let layout = layouts.of(Table::Players);
        let group = layout.encode(rows.columns(), &mut encoder);
        match group.map_err(Error::Encode)? {
            Some(group) => writer.append(Table::Players, group),
            None => Ok(()),
        }
    };
    let mut rounds = Rounds::new(folder, manifest, MOST_PLAYERS);
    while let Some(players) = rounds.next_round()? {
        for (_, key, player) in players {
            rows.push(&key, &player);
            if rows.row_count() == ROWS {
                end_group(&mut rows)?;
            }
        }
    }
    end_group(&mut rows)?;
    let sizes = writer.finish()?;
    let size = sizes.get(&Table::Players);
    Ok(size.map(|&size| OneFile { part, size }))
}

/// Names players that were written, and removes former ones.
///
/// # Errors
///
/// Where the manifest cannot be written, or a file not removed.
pub(crate) fn name(
    folder: &Path,
    manifest: &mut Manifest,
    players: Option<OneFile>,
) -> Result<(), Error> {
    let Some(file) = players else { return Ok(()) };
    manifest.players = players;
    manifest.save(folder)?;
    let named = Table::Players.part_file(folder, ALL_SOURCES, file.part);
    remove_unnamed(&Table::Players.source_folder(folder, ALL_SOURCES), &[named])
}
