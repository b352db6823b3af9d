//! Spells, counted by side, kind and phase.

use polars::prelude::DataFrame;
use rayon::prelude::*;

use super::games::{COLORS, Games};
use super::moves::in_order;
use crate::columns::Rows;
use crate::dataset::Dataset;
use crate::error::AskError;
use crate::terms::{Kind, Phase, YesNo};

/// What spells of one sort come to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Spells {
    /// Spells.
    pub spells: u64,
    /// Turns in them.
    pub turns: u64,
    /// Spells that ended with the piece freed.
    pub freed: u64,
    /// Spells that ended with the piece lost.
    pub lost: u64,
}

/// One spell that counts.
struct Spell {
    game: u32,
    color: u8,
    kind: u8,
    phase: u8,
    freed: bool,
    lost: bool,
    turns: u16,
}

/// Counts by group of games, kind and phase.
pub type BySort = Vec<[[Spells; 3]; 4]>;

/// Reads the table of spells.
pub fn read(dataset: &Dataset, games: &Games, k: u8, developed: YesNo) -> Result<BySort, AskError> {
    let mut columns = vec![
        "game", "color", "kind", "phase", "k_low", "k_high", "end", "turns",
    ];
    if developed.wanted().is_some() {
        columns.push("developed");
    }
    let mut out: BySort = vec![Default::default(); games.groups.len()];
    for part in dataset.parts("spells")? {
        let source = games.source(&part.source);
        for rows in in_order(&part.row_groups()?) {
            let read: Vec<Vec<Spell>> = rows
                .par_iter()
                .map(|&group| spells(&part.read_alone(&columns, group)?, k, developed))
                .collect::<Result<_, _>>()?;
            for spell in read.into_iter().flatten() {
                let group = source.and_then(|s| s.group(spell.game, usize::from(spell.color)));
                let Some(group) = group else {
                    return Err(AskError::BadTable {
                        table: part.table,
                        what: format!("game {} is not among the games", spell.game),
                    });
                };
                let sum = &mut out[group][usize::from(spell.kind)][usize::from(spell.phase)];
                sum.spells += 1;
                sum.turns += u64::from(spell.turns);
                sum.freed += u64::from(spell.freed);
                sum.lost += u64::from(spell.lost);
            }
        }
    }
    Ok(out)
}

fn spells(frame: &DataFrame, k: u8, developed: YesNo) -> Result<Vec<Spell>, AskError> {
    let rows = Rows::new("spells", frame);
    let (game, turns) = (rows.fours("game")?, rows.pairs("turns")?);
    let (low, high) = (rows.bytes("k_low")?, rows.bytes("k_high")?);
    let (color, kind) = (rows.texts("color")?, rows.texts("kind")?);
    let (phase, end) = (rows.texts("phase")?, rows.texts("end")?);
    let had_moved = match developed.wanted() {
        Some(wanted) => Some((wanted, rows.booleans("developed")?)),
        None => None,
    };
    let mut out = Vec::new();
    for row in 0..frame.height() {
        if low[row] > k || k > high[row] {
            continue;
        }
        if had_moved
            .as_ref()
            .is_some_and(|(wanted, is)| is[row] != *wanted)
        {
            continue;
        }
        let unknown = |name: &str| rows.bad(format!("column \"{name}\" holds an unknown word"));
        let color = color
            .get(row)
            .and_then(|word| COLORS.iter().position(|color| *color == word));
        let end = end.get(row).ok_or_else(|| unknown("end"))?;
        out.push(Spell {
            game: game[row],
            color: color.ok_or_else(|| unknown("color"))? as u8,
            kind: kind
                .get(row)
                .and_then(Kind::from_word)
                .ok_or_else(|| unknown("kind"))? as u8,
            phase: phase
                .get(row)
                .and_then(Phase::from_word)
                .ok_or_else(|| unknown("phase"))? as u8,
            freed: end == "freed",
            lost: end == "lost",
            turns: turns[row],
        });
    }
    Ok(out)
}
