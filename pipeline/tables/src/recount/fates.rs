//! Fates of pieces in a table, held against the captured units of `moves`.

use arrow_array::Array as _;
use hobble_terms::Fate;

use super::captures::CapturedUnits;
use crate::column::Column;
use crate::error::Error;
use crate::rows::Rows;

/// Number of rows whose fate is not that of the unit captured by that ply. The columns are the
/// game, the fate and its ply.
pub(super) fn other_fates(
    rows: &Rows<'_>,
    (game, fate, ply): (Column<i32>, Column<Fate>, Column<Option<i16>>),
    captured: &CapturedUnits,
) -> Result<u64, Error> {
    let (games, fates, plies) = (rows.read(game)?, rows.read(fate)?, rows.read(ply)?);
    let mut others = 0;
    for row in 0..rows.len() {
        let fate = Fate::from_name(fates.value(row));
        let expected = if plies.is_valid(row) {
            let unit = captured.captured_by(games.value(row), plies.value(row));
            unit.map(|(fate, _)| fate)
        } else {
            Some(Fate::Survived)
        };
        others += u64::from(fate != expected);
    }
    Ok(others)
}
