//! The games that a folder of tables holds already, so that a scan that goes on knows repeats
//! of them.

use std::path::Path;

use arrow_array::{Array as _, StringArray};
use hobble_game::id::Ids;
use hobble_terms::manifest::{Manifest, Source};
use hobble_terms::{GameResult, Table};

use crate::error::Error;
use crate::games::GAMES;
use crate::repeats::{GameKey, Register};
use crate::rows::read;

/// A register of the games in the folder's tables, in the order of the manifest.
pub(super) fn register(folder: &Path, manifest: &Manifest) -> Result<Register, Error> {
    let mut register = Register::default();
    for source in &manifest.sources {
        register.begin_source(&source.source);
        each_game(folder, source, |game| register.remember(game))?;
    }
    Ok(register)
}

/// Games in the folder's tables that repeat one before them.
pub(crate) fn repeats(folder: &Path, manifest: &Manifest) -> Result<u64, Error> {
    let mut register = Register::default();
    let mut repeats = 0;
    for source in &manifest.sources {
        each_game(folder, source, |game| {
            repeats += u64::from(register.ask(game).is_some());
        })?;
    }
    Ok(repeats)
}

/// Hands out the games of a source.
fn each_game(folder: &Path, source: &Source, mut take: impl FnMut(&GameKey)) -> Result<(), Error> {
    let columns = [
        GAMES.game.name(),
        GAMES.game_id.name(),
        GAMES.moves_id.name(),
        GAMES.result.name(),
        GAMES.plies.name(),
        GAMES.white.name(),
        GAMES.black.name(),
    ];
    for part in &source.parts {
        if part.account.kept == 0 {
            continue;
        }
        if !part.tables.contains_key(&Table::Games) {
            return Err(Error::UnknownGames {
                folder: folder.to_owned(),
            });
        }
        let path = Table::Games.part_file(folder, &source.source, part.part);
        read(&path, &columns, |rows| {
            let (games, ids) = (rows.read(GAMES.game)?, rows.read(GAMES.game_id)?);
            let (moves, plies) = (rows.read(GAMES.moves_id)?, rows.read(GAMES.plies)?);
            let results = rows.read(GAMES.result)?;
            let (white, black) = (rows.read(GAMES.white)?, rows.read(GAMES.black)?);
            for row in 0..rows.len() {
                let result = results.value(row);
                let result = GameResult::from_name(result)
                    .ok_or_else(|| rows.invalid(GAMES.result, result))?;
                let ids = Ids {
                    game: ids.value(row),
                    moves: moves.value(row),
                };
                let names = [white, black].map(|names| text(names, row));
                let (plies, number) = (plies.value(row) as u16, games.value(row) as u32);
                take(&GameKey::of(ids, result, plies, names, number));
            }
            Ok(())
        })?;
    }
    Ok(())
}

fn text(column: &StringArray, row: usize) -> Option<&str> {
    column.is_valid(row).then(|| column.value(row))
}
