//! The sums of the table `sides`, and the same sums by the other tables.

use std::collections::BTreeMap;
use std::path::Path;

use arrow_array::Array as _;
use hobble_terms::{CauseKind, Fate, Kind, PLIES_TO_LANDMARK, Phase, SpellEnd, Table, UNIT_NAMES};

use crate::column::Column;
use crate::decisions::DECISIONS;
use crate::error::Error;
use crate::exposure::EXPOSURE;
use crate::moves::MOVES;
use crate::rows::{Rows, read};
use crate::sides::{KINDS, KS, PHASES, SIDES, WITHIN};
use crate::spells::SPELLS;

/// Sums of columns of `sides`.
#[derive(Default)]
pub(super) struct Sides {
    /// By the table itself.
    own: BTreeMap<&'static str, i64>,
    /// By another table.
    others: BTreeMap<Table, BTreeMap<&'static str, i64>>,
}

impl Sides {
    /// Columns whose sums another table gives, those of them that are equal, and the first that
    /// is not; by table.
    pub fn compared(&self) -> impl Iterator<Item = (Table, u64, u64, Option<&'static str>)> {
        self.others.iter().map(|(&table, sums)| {
            let own = |name: &str| self.own.get(name).copied().unwrap_or(0);
            let differs = |&(name, &sum): &(&&'static str, &i64)| own(name) != sum;
            let differing = sums.iter().filter(differs).count();
            let first = sums.iter().find(differs).map(|(name, _)| *name);
            let columns = sums.len();
            (table, columns as u64, (columns - differing) as u64, first)
        })
    }

    fn add(&mut self, table: Table, column: &'static str, count: i64) {
        *self
            .others
            .entry(table)
            .or_default()
            .entry(column)
            .or_default() += count;
    }

    /// Adds an array of sums, a column each.
    fn add_all<T>(&mut self, table: Table, columns: &[Column<T>], counts: &[i64]) {
        for (column, &count) in columns.iter().zip(counts) {
            self.add(table, column.name(), count);
        }
    }
}

/// Adds up a part of `sides` itself. Returns the number of rows.
pub(super) fn sides(path: &Path, sums: &mut Sides) -> Result<u64, Error> {
    let (turns, held) = (&SIDES.turn_counts, &SIDES.held_counts);
    let (spells, play) = (&SIDES.spell_counts, &SIDES.play_counts);
    let columns: Vec<Column<i32>> = [turns.turns]
        .into_iter()
        .chain(turns.piece_turns)
        .chain(turns.developed_turns)
        .chain(turns.held)
        .chain(turns.held_lost)
        .chain(held.held_lost_by_kind)
        .chain(held.developed_turns_by_phase)
        .chain(held.held_by_phase)
        .chain(held.held_lost_by_phase)
        .chain(turns.restrained)
        .chain(spells.causes)
        .chain(spells.ends)
        .chain(spells.spell_turns)
        .chain(spells.restraints)
        .chain(spells.restraints_lost)
        .chain([play.taken, play.given, play.own_taken, play.own_given])
        .chain([play.scope_own, play.scope_other])
        .chain(play.captured)
        .chain([play.chances, play.chances_taken])
        .collect();
    let names: Vec<&str> = columns.iter().map(|column| column.name()).collect();
    read(path, &names, |rows| {
        for &column in &columns {
            let values = rows.read(column)?.values().iter();
            let sum: i64 = values.map(|&value| i64::from(value)).sum();
            *sums.own.entry(column.name()).or_default() += sum;
        }
        Ok(())
    })
}

/// Adds up a part of `moves`.
pub(super) fn moves(path: &Path, sums: &mut Sides) -> Result<(), Error> {
    let play = &SIDES.play_counts;
    let squares = [
        (MOVES.taken, play.taken),
        (MOVES.given, play.given),
        (MOVES.own_taken, play.own_taken),
        (MOVES.own_given, play.own_given),
    ];
    let mut columns: Vec<&str> = squares.iter().map(|(column, _)| column.name()).collect();
    columns.extend([MOVES.captured.name(), MOVES.captured_fate.name()]);
    let mut captured = [0; 15];
    let plies = read(path, &columns, |rows| {
        for (column, of_side) in squares {
            let values = rows.read(column)?.values().iter();
            let sum = values.map(|&value| i64::from(value)).sum();
            sums.add(Table::Moves, of_side.name(), sum);
        }
        let (kinds, fates) = (rows.read(MOVES.captured)?, rows.read(MOVES.captured_fate)?);
        for row in (0..rows.len()).filter(|&row| kinds.is_valid(row) && fates.is_valid(row)) {
            let kind = UNIT_NAMES.iter().position(|name| *name == kinds.value(row));
            let fate = Fate::from_name(fates.value(row));
            if let (Some(kind), Some(fate)) = (kind, fate)
                && let Some(count) = captured.get_mut(fate as usize * 5 + kind)
            {
                *count += 1;
            }
        }
        Ok(())
    })?;
    sums.add_all(Table::Moves, &play.captured, &captured);
    sums.add(Table::Moves, SIDES.turn_counts.turns.name(), plies as i64);
    Ok(())
}

/// Adds up a part of `spells`.
pub(super) fn spells(path: &Path, sums: &mut Sides) -> Result<(), Error> {
    let columns = [
        SPELLS.developed.name(),
        SPELLS.kind.name(),
        SPELLS.k_low.name(),
        SPELLS.k_high.name(),
        SPELLS.start_ply.name(),
        SPELLS.cause.name(),
        SPELLS.ended.name(),
        SPELLS.turns.name(),
        SPELLS.restrained.name(),
        SPELLS.capture.fate.name(),
        SPELLS.capture.fate_ply.name(),
    ];
    let mut counts = SpellSums::default();
    read(path, &columns, |rows| counts.add(rows))?;
    let of = &SIDES.spell_counts;
    sums.add_all(Table::Spells, &of.causes, &counts.causes);
    sums.add_all(Table::Spells, &of.ends, &counts.ends);
    sums.add_all(Table::Spells, &of.spell_turns, &counts.turns);
    sums.add_all(Table::Spells, &of.restraints, &counts.restraints);
    sums.add_all(Table::Spells, &of.restraints_lost, &counts.restraints_lost);
    let restrained = &SIDES.turn_counts.restrained;
    sums.add_all(Table::Spells, restrained, &counts.restrained);
    Ok(())
}

/// Plies from the start of a spell to the last at which a capture is one of those looked for.
const LAST_PLY: i64 = PLIES_TO_LANDMARK as i64 + 2 * WITHIN as i64;

/// Sums over spells, as the columns of `sides` have them.
#[derive(Default)]
struct SpellSums {
    causes: [i64; 5 * KS],
    ends: [i64; 5 * KS],
    turns: [i64; KS],
    restraints: [i64; KS],
    restraints_lost: [i64; KS],
    restrained: [i64; 4 * KS],
}

impl SpellSums {
    fn add(&mut self, rows: &Rows<'_>) -> Result<(), Error> {
        let developed = rows.read(SPELLS.developed)?;
        let (kinds, causes) = (rows.read(SPELLS.kind)?, rows.read(SPELLS.cause)?);
        let (ends, turns) = (rows.read(SPELLS.ended)?, rows.read(SPELLS.turns)?);
        let (low, high) = (rows.read(SPELLS.k_low)?, rows.read(SPELLS.k_high)?);
        let restrained = rows.read(SPELLS.restrained)?;
        let starts = rows.read(SPELLS.start_ply)?;
        let (fates, plies) = (
            rows.read(SPELLS.capture.fate)?,
            rows.read(SPELLS.capture.fate_ply)?,
        );
        for row in (0..rows.len()).filter(|&row| developed.value(row)) {
            let word = kinds.value(row);
            let kind = Kind::from_name(word).ok_or_else(|| rows.invalid(SPELLS.kind, word))?;
            let word = causes.value(row);
            let cause =
                CauseKind::from_name(word).ok_or_else(|| rows.invalid(SPELLS.cause, word))?;
            let word = ends.value(row);
            let end = SpellEnd::from_name(word).ok_or_else(|| rows.invalid(SPELLS.ended, word))?;
            let last = i64::from(starts.value(row)) + LAST_PLY;
            let lost = fates.value(row) == Fate::Lost.name()
                && plies.is_valid(row)
                && i64::from(plies.value(row)) <= last;
            let length = i64::from(turns.value(row));
            for k in low.value(row) as usize..=(high.value(row) as usize).min(KS - 1) {
                self.causes[cause as usize * KS + k] += 1;
                self.ends[end as usize * KS + k] += 1;
                self.turns[k] += length;
                if restrained.value(row) {
                    self.restraints[k] += 1;
                    self.restraints_lost[k] += i64::from(lost);
                    self.restrained[kind as usize * KS + k] += length - 1;
                }
            }
        }
        Ok(())
    }
}

/// Adds up a part of `decisions`.
pub(super) fn decisions(path: &Path, sums: &mut Sides) -> Result<(), Error> {
    let mut taken = 0;
    let chances = read(path, &[DECISIONS.restrains.name()], |rows| {
        taken += rows.read(DECISIONS.restrains)?.true_count() as i64;
        Ok(())
    })?;
    let of = &SIDES.play_counts;
    sums.add(Table::Decisions, of.chances.name(), chances as i64);
    sums.add(Table::Decisions, of.chances_taken.name(), taken);
    Ok(())
}

/// Adds up a cube.
pub(super) fn exposure(path: &Path, sums: &mut Sides) -> Result<(), Error> {
    let columns = [
        EXPOSURE.kind.name(),
        EXPOSURE.phase.name(),
        EXPOSURE.safe.name(),
        EXPOSURE.developed.name(),
        EXPOSURE.turns.name(),
        LOST_COLUMN.name(),
    ];
    let mut counts = CubeSums::default();
    read(path, &columns, |rows| counts.add(rows))?;
    let (of, held) = (&SIDES.turn_counts, &SIDES.held_counts);
    let all: [(&[Column<i32>], &[i64]); 8] = [
        (&of.piece_turns, &counts.turns),
        (&of.developed_turns, &counts.developed),
        (&of.held, &counts.held),
        (&of.held_lost, &counts.lost),
        (&held.held_lost_by_kind, &counts.lost_by_kind),
        (&held.developed_turns_by_phase, &counts.developed_by_phase),
        (&held.held_by_phase, &counts.held_by_phase),
        (&held.held_lost_by_phase, &counts.lost_by_phase),
    ];
    for (columns, counts) in all {
        sums.add_all(Table::Exposure, columns, counts);
    }
    Ok(())
}

/// The column of the cube whose losses are those of `sides`.
static LOST_COLUMN: Column<i64> = EXPOSURE.within[8];

/// Sums over the cube, as the columns of `sides` have them.
#[derive(Default)]
struct CubeSums {
    turns: [i64; KINDS],
    developed: [i64; KINDS],
    held: [i64; KINDS * KS],
    lost: [i64; KS],
    lost_by_kind: [i64; KINDS * KS],
    developed_by_phase: [i64; PHASES],
    held_by_phase: [i64; PHASES * KS],
    lost_by_phase: [i64; PHASES * KS],
}

impl CubeSums {
    fn add(&mut self, rows: &Rows<'_>) -> Result<(), Error> {
        let (kinds, phases) = (rows.read(EXPOSURE.kind)?, rows.read(EXPOSURE.phase)?);
        let (safe, developed) = (rows.read(EXPOSURE.safe)?, rows.read(EXPOSURE.developed)?);
        let (turns, lost) = (rows.read(EXPOSURE.turns)?, rows.read(LOST_COLUMN)?);
        for row in 0..rows.len() {
            let word = kinds.value(row);
            let kind = Kind::from_name(word).ok_or_else(|| rows.invalid(EXPOSURE.kind, word))?;
            let word = phases.value(row);
            let phase = Phase::from_name(word).ok_or_else(|| rows.invalid(EXPOSURE.phase, word))?;
            let (kind, phase) = (kind as usize, phase as usize);
            let (turns, lost) = (turns.value(row), lost.value(row));
            self.turns[kind] += turns;
            if developed.value(row) {
                self.developed[kind] += turns;
                self.developed_by_phase[phase] += turns;
                for k in safe.value(row) as usize..KS {
                    self.held[kind * KS + k] += turns;
                    self.held_by_phase[phase * KS + k] += turns;
                    self.lost[k] += lost;
                    self.lost_by_kind[kind * KS + k] += lost;
                    self.lost_by_phase[phase * KS + k] += lost;
                }
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn first_column_that_differs_is_named() {
        let mut sums = Sides {
            own: BTreeMap::from([("taken", 5), ("turns", 7)]),
            ..Sides::default()
        };
        sums.add(Table::Moves, "taken", 2);
        sums.add(Table::Moves, "taken", 3);
        sums.add(Table::Moves, "turns", 8);
        let found: Vec<_> = sums.compared().collect();
        assert_eq!(found, [(Table::Moves, 2, 1, Some("turns"))]);
    }

    #[test]
    fn losses_are_looked_for_within_the_same_moves() {
        assert_eq!(EXPOSURE.within[8].name(), format!("lost_{WITHIN}"));
    }
}
