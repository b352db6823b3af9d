//! Held turns and losses from the sampled rows of `turns`, where games or sides are chosen: the cube
//! counts turns of many games together and cannot tell them apart.

use std::collections::BTreeMap;

use hobble_conditions::terms::{Kind, Phase};
use hobble_conditions::{AskError, words};
use hobble_dataset::Part;
use hobble_dataset::columns::Rows;

use super::counts::{Cells, FOLDS, Ratio};
use super::cube::{Counted, Held, stratum};
use super::games::colors;
use super::measures::Split;
use super::per_side::{Incoming, Of, PerSide};
use super::side_tables::DevelopedTurns;

/// What is counted of turns.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// Safe squares, at most.
    pub k: u8,
    /// Horizon in moves.
    pub within: u32,
    /// Turns that one of the sample stands for.
    pub sample: u64,
}

const COLUMNS: [&str; 14] = [
    "game",
    "color",
    "band",
    "time_class",
    "kind",
    "phase",
    "attacked_by",
    "defended_by",
    "safe",
    "fold",
    "sampled",
    "ply",
    "fate",
    "fate_ply",
];

/// Counts by band, time class and stratum, and in these by fold.
type Strata = BTreeMap<(String, String, usize), [Counted; FOLDS]>;

#[derive(Default)]
struct Sums {
    strata: Strata,
    sides: Incoming<DevelopedTurns>,
}

/// Reads a part of the table of turns into cells and strata. Returns these, and the counts by side.
pub fn read(
    part: &Part,
    asked: Asked,
    splits: &[Split],
    cells: &mut Cells,
) -> Result<(Held, PerSide<DevelopedTurns>), AskError> {
    let in_batch = |rows: &Rows, sums: &mut Sums| in_batch(rows, asked, sums);
    let sums = part.count(&COLUMNS, Sums::default, in_batch, add)?;
    let mut held = Held::default();
    for ((band, class, place), folds) in &sums.strata {
        for (fold, &counted) in folds.iter().enumerate().filter(|(_, one)| one.turns > 0) {
            held.count([band, class], (*place, fold), counted, splits, cells);
        }
    }
    Ok((held, sums.sides.by_game()))
}

fn add(sums: &mut Sums, counts: Sums) {
    add_strata(&mut sums.strata, counts.strata);
    sums.sides.append(counts.sides);
}

fn add_strata(sums: &mut Strata, counts: Strata) {
    for (key, counts) in counts {
        let sums = sums.entry(key).or_insert([Counted::default(); FOLDS]);
        for (sum, count) in sums.iter_mut().zip(counts) {
            *sum += count;
        }
    }
}

fn in_batch(rows: &Rows, asked: Asked, out: &mut Sums) -> Result<(), AskError> {
    let (mut bands, mut classes) = (Vec::new(), Vec::new());
    let band = rows
        .texts("band")?
        .read_as(|word| Some(words::number(&mut bands, word?)));
    let class = rows
        .texts("time_class")?
        .read_as(|word| Some(words::number(&mut classes, word?)));
    let kind = rows.texts("kind")?.read_as(|word| Kind::from_name(word?));
    let phase = rows.texts("phase")?.read_as(|word| Phase::from_name(word?));
    let game = rows.fours("game")?;
    let color = colors(rows)?;
    let attackers = rows.texts("attacked_by")?.any_of([""]);
    let defenders = rows.texts("defended_by")?.any_of([""]);
    let (safe, fold) = (rows.bytes("safe")?, rows.bytes("fold")?);
    let (sampled, ply) = (rows.booleans("sampled")?, rows.pairs("ply")?);
    let lost_at_last = rows.texts("fate")?.any_of(["lost"]);
    let fate_ply = rows.optional_numbers("fate_ply")?;
    let mut counts: BTreeMap<(usize, usize, usize), [Counted; FOLDS]> = BTreeMap::new();
    for row in (0..rows.len()).filter(|&row| sampled.value(row)) {
        let unknown = |name: &str| rows.bad(format!("column \"{name}\" holds an unknown word"));
        // The table has developed pieces alone.
        let state = [true, !attackers.at(row), !defenders.at(row)];
        let kind = kind.at(row).ok_or_else(|| unknown("kind"))?;
        let phase = phase.at(row).ok_or_else(|| unknown("phase"))?;
        let place = stratum(kind, phase, state);
        let band = band.at(row).ok_or_else(|| unknown("band"))?;
        let class = class.at(row).ok_or_else(|| unknown("time_class"))?;
        let sums = counts
            .entry((band, class, place))
            .or_insert([Counted::default(); FOLDS]);
        let last = u64::from(ply[row]) + 2 * u64::from(asked.within);
        let held = safe[row] <= asked.k;
        let lost = held && lost_at_last.at(row) && fate_ply.get(row).is_some_and(|ply| ply <= last);
        sums[usize::from(fold[row]) % FOLDS] += Counted {
            turns: asked.sample,
            lost: Ratio {
                events: asked.sample * u64::from(lost),
                trials: asked.sample * u64::from(held),
            },
        };
        let turn = DevelopedTurns {
            all: 1,
            held: held.into(),
            lost: lost.into(),
        };
        let of = Of {
            color: color.at(row).ok_or_else(|| unknown("color"))? as u8,
            kind: kind as u8,
            phase,
        };
        out.sides.add(game[row], of, turn);
    }
    let named = counts.into_iter().map(|((band, class, place), folds)| {
        ((bands[band].clone(), classes[class].clone(), place), folds)
    });
    add_strata(&mut out.strata, named.collect());
    Ok(())
}
