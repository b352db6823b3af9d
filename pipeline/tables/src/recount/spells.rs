//! The table `spells` counted again.

use std::path::Path;

use arrow_array::Array as _;
use hobble_terms::Fate;

use super::captures::CapturedUnits;
use super::games::count_words;
use super::rows::{Rows, read};
use super::totals::Totals;
use crate::error::Error;
use crate::spells::SPELLS;

/// Counts the ends of the spells of a part, and holds the fates of their pieces against those
/// of the captured units. Returns the number of rows.
pub(super) fn spells(path: &Path, totals: &mut Totals) -> Result<u64, Error> {
    let columns = [
        SPELLS.game.name(),
        SPELLS.end.name(),
        SPELLS.fate.name(),
        SPELLS.fate_ply.name(),
        SPELLS.net.name(),
    ];
    read(path, &columns, |rows| {
        count_words(rows.read(SPELLS.end)?, &mut totals.account.spells);
        compare_fates(rows, &mut totals.captured)
    })
}

fn compare_fates(rows: &Rows<'_>, units: &mut CapturedUnits) -> Result<(), Error> {
    let games = rows.read(SPELLS.game)?;
    let fates = rows.read(SPELLS.fate)?;
    let plies = rows.read(SPELLS.fate_ply)?;
    let nets = rows.read(SPELLS.net)?;
    for row in 0..rows.len() {
        let fate = Fate::from_name(fates.value(row));
        let agrees = if plies.is_valid(row) {
            let captured = units.captured_by(games.value(row), plies.value(row));
            let net = nets.is_valid(row).then(|| nets.value(row));
            captured.is_some_and(|(by_moves, of_run)| fate == Some(by_moves) && net == Some(of_run))
        } else {
            fate == Some(Fate::Survived)
        };
        units.other_fates += u64::from(!agrees);
    }
    Ok(())
}
