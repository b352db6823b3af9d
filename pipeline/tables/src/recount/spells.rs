//! The table `spells` counted again.

use std::path::Path;

use arrow_array::Array as _;
use hobble_terms::{Fate, Kind, landmark_k};

use super::captures::CapturedUnits;
use super::games::count_words;
use super::totals::{Landmarks, Totals};
use crate::error::Error;
use crate::rows::{Rows, read};
use crate::spells::SPELLS;

/// Counts the ends of the spells of a part, and holds the fates of their pieces against those
/// of the captured units. Returns the number of rows.
pub(super) fn spells(path: &Path, totals: &mut Totals) -> Result<u64, Error> {
    let columns = [
        SPELLS.origin.game.name(),
        SPELLS.ended.name(),
        SPELLS.capture.fate.name(),
        SPELLS.capture.fate_ply.name(),
        SPELLS.net.name(),
        SPELLS.restrained.name(),
        SPELLS.k_low.name(),
        SPELLS.kind.name(),
        SPELLS.piece.name(),
        SPELLS.start_ply.name(),
    ];
    totals.turns.part.clear();
    read(path, &columns, |rows| {
        note_landmarks(rows, &mut totals.turns.part)?;
        count_words(rows.read(SPELLS.ended)?, &mut totals.account.spells);
        compare_fates(rows, &mut totals.captured)
    })
}

/// Notes the landmarks that put their turns into the table `turns`.
fn note_landmarks(rows: &Rows<'_>, landmarks: &mut Landmarks) -> Result<(), Error> {
    let restrained = rows.read(SPELLS.restrained)?;
    let lows = rows.read(SPELLS.k_low)?;
    let kinds = rows.read(SPELLS.kind)?;
    let (games, slots, starts) = (
        rows.read(SPELLS.origin.game)?,
        rows.read(SPELLS.piece)?,
        rows.read(SPELLS.start_ply)?,
    );
    for row in (0..rows.len()).filter(|&row| restrained.value(row)) {
        let kind = Kind::from_name(kinds.value(row));
        let kind = kind.ok_or_else(|| rows.invalid(SPELLS.kind, kinds.value(row)))?;
        if i16::from(lows.value(row)) <= i16::from(landmark_k(kind.role())) {
            landmarks.insert((
                games.value(row),
                slots.value(row),
                starts.value(row).saturating_add(2),
            ));
        }
    }
    Ok(())
}

fn compare_fates(rows: &Rows<'_>, units: &mut CapturedUnits) -> Result<(), Error> {
    let games = rows.read(SPELLS.origin.game)?;
    let fates = rows.read(SPELLS.capture.fate)?;
    let plies = rows.read(SPELLS.capture.fate_ply)?;
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
