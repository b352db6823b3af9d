//! The table `turns` counted again, and held against the captured units of `moves` and the
//! landmarks of `spells`.

use std::path::Path;

use arrow_array::Array as _;
use hobble_terms::{Kind, landmark_k};

use super::fates::other_fates;
use super::totals::{Totals, Turns};
use crate::error::Error;
use crate::rows::{Rows, read};
use crate::turns::TURNS;

/// Counts the rows of a part. Returns their number.
pub(super) fn turns(path: &Path, totals: &mut Totals) -> Result<u64, Error> {
    let restrained = TURNS.restrained.map(|column| column.name());
    let columns = [
        TURNS.origin.game.name(),
        TURNS.ply.name(),
        TURNS.sampled.name(),
        TURNS.landmark.name(),
        TURNS.piece.name(),
        TURNS.kind.name(),
        TURNS.position.capture.fate.name(),
        TURNS.position.capture.fate_ply.name(),
    ];
    let columns = [&columns[..], &restrained[..3]].concat();
    let rows = read(path, &columns, |rows| {
        let columns = (
            TURNS.origin.game,
            TURNS.position.capture.fate,
            TURNS.position.capture.fate_ply,
        );
        totals.turns.other_fates += other_fates(rows, columns, &totals.captured)?;
        count_landmarks(rows, &mut totals.turns)
    });
    totals.turns.landmarks_of_spells += totals.turns.part.len() as u64;
    totals.turns.part.clear();
    rows
}

fn count_landmarks(rows: &Rows<'_>, totals: &mut Turns) -> Result<(), Error> {
    let (games, plies, slots) = (
        rows.read(TURNS.origin.game)?,
        rows.read(TURNS.ply)?,
        rows.read(TURNS.piece)?,
    );
    let (sampled, landmark) = (rows.read(TURNS.sampled)?, rows.read(TURNS.landmark)?);
    let kinds = rows.read(TURNS.kind)?;
    let [none, one, two] = [0, 1, 2].map(|k| rows.read(TURNS.restrained[k]));
    let restrained = [none?, one?, two?];
    for row in 0..rows.len() {
        totals.unasked += u64::from(!sampled.value(row) && !landmark.value(row));
        let kind = Kind::from_name(kinds.value(row));
        let kind = kind.ok_or_else(|| rows.invalid(TURNS.kind, kinds.value(row)))?;
        let reached = restrained[..=usize::from(landmark_k(kind.role()))]
            .iter()
            .any(|turns| turns.is_valid(row) && turns.value(row) == 1);
        if reached && landmark.value(row) {
            totals.landmarks += 1;
            let place = (games.value(row), slots.value(row), plies.value(row));
            totals.same_landmarks += u64::from(totals.part.contains(&place));
        }
    }
    Ok(())
}
