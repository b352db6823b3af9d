//! The table `decisions` counted again: held against the captured units of `moves`, and its
//! columns against each other.

use std::path::Path;

use arrow_array::Array as _;
use hobble_terms::{Kind, landmark_k};

use super::fates::other_fates;
use super::totals::{Decisions, Totals};
use crate::decisions::DECISIONS;
use crate::error::Error;
use crate::rows::{Rows, read};

/// Counts the rows of a part. Returns their number.
pub(super) fn decisions(path: &Path, totals: &mut Totals) -> Result<u64, Error> {
    let leaving = DECISIONS.leaving.map(|column| column.name());
    let columns = [
        DECISIONS.origin.game.name(),
        DECISIONS.kind.name(),
        DECISIONS.safe.name(),
        DECISIONS.restraining.name(),
        DECISIONS.best.name(),
        DECISIONS.by_pawn.name(),
        DECISIONS.legal.name(),
        DECISIONS.quiet.name(),
        DECISIONS.played_quiet.name(),
        DECISIONS.restrains.name(),
        DECISIONS.attacks.name(),
        DECISIONS.squares_left.name(),
        DECISIONS.position.capture.fate.name(),
        DECISIONS.position.capture.fate_ply.name(),
    ];
    let columns = [&columns[..], &leaving[..]].concat();
    read(path, &columns, |rows| {
        let columns = (
            DECISIONS.origin.game,
            DECISIONS.position.capture.fate,
            DECISIONS.position.capture.fate_ply,
        );
        totals.decisions.other_fates += other_fates(rows, columns, &totals.captured)?;
        compare_columns(rows, &mut totals.decisions)
    })
}

fn compare_columns(rows: &Rows<'_>, totals: &mut Decisions) -> Result<(), Error> {
    let kinds = rows.read(DECISIONS.kind)?;
    let (safe, best) = (rows.read(DECISIONS.safe)?, rows.read(DECISIONS.best)?);
    let restraining = rows.read(DECISIONS.restraining)?;
    let by_pawn = rows.read(DECISIONS.by_pawn)?;
    let (legal, quiet) = (rows.read(DECISIONS.legal)?, rows.read(DECISIONS.quiet)?);
    let played_quiet = rows.read(DECISIONS.played_quiet)?;
    let restrains = rows.read(DECISIONS.restrains)?;
    let attacks = rows.read(DECISIONS.attacks)?;
    let left = rows.read(DECISIONS.squares_left)?;
    let [none, one, two] = [0, 1, 2].map(|left| rows.read(DECISIONS.leaving[left]));
    let leaving = [none?, one?, two?];
    for row in 0..rows.len() {
        let kind = Kind::from_name(kinds.value(row));
        let kind = kind.ok_or_else(|| rows.invalid(DECISIONS.kind, kinds.value(row)))?;
        let k = landmark_k(kind.role()) as i8;
        let moves = leaving.each_ref().map(|moves| {
            if moves.is_valid(row) {
                moves.value(row)
            } else {
                0
            }
        });
        let all = moves.iter().map(|&moves| i32::from(moves)).sum::<i32>();
        let first = moves.iter().position(|&moves| moves > 0);
        let counted = all == i32::from(restraining.value(row))
            && first == usize::try_from(best.value(row)).ok()
            && best.value(row) <= k
            && safe.value(row) > k
            && by_pawn.value(row) <= restraining.value(row)
            && restraining.value(row) <= quiet.value(row)
            && quiet.value(row) <= legal.value(row);
        let few = left.is_valid(row) && left.value(row) <= k;
        let played =
            restrains.value(row) == (played_quiet.value(row) && few && !attacks.value(row));
        totals.contradictions += u64::from(!(counted && played));
    }
    Ok(())
}
