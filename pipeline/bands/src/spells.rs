//! Spells, counted by side of a game, kind and phase.

use std::ops::AddAssign;

use super::games::{Games, colors};
use super::per_side::{Incoming, Of, PerSide};
use hobble_conditions::AskError;
use hobble_conditions::filter::Mask;
use hobble_conditions::terms::{Kind, Phase, YesNo};
use hobble_dataset::columns::Rows;
use hobble_dataset::part::Part;
use hobble_terms::PLIES_TO_LANDMARK;

/// Counts of spells of one sort in a part.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Spells {
    /// Spells.
    pub spells: u32,
    /// Turns in them.
    pub turns: u32,
    /// Spells that ended with the piece freed.
    pub freed: u32,
    /// Spells that ended with the piece lost.
    pub lost: u32,
    /// Spells that are restraints.
    pub restrained: u32,
    /// Those after whose landmark the piece was lost within the horizon.
    pub restrained_lost: u32,
}

impl AddAssign for Spells {
    fn add_assign(&mut self, other: Spells) {
        self.spells += other.spells;
        self.turns += other.turns;
        self.freed += other.freed;
        self.lost += other.lost;
        self.restrained += other.restrained;
        self.restrained_lost += other.restrained_lost;
    }
}

/// What is asked of spells.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// Safe squares, at most.
    pub k: u8,
    /// Horizon in moves.
    pub within: u32,
    /// Whether pieces must have moved.
    pub developed: YesNo,
}

/// Reads a part of the table of spells.
pub fn read(part: &Part, games: &Games, asked: Asked) -> Result<PerSide<Spells>, AskError> {
    let mut columns = vec![
        "game",
        "color",
        "kind",
        "phase",
        "k_low",
        "k_high",
        "start_ply",
        "ended",
        "turns",
        "restrained",
        "fate",
        "fate_ply",
    ];
    if asked.developed.wanted().is_some() {
        columns.push("developed");
    }
    let in_batch = |rows: &Rows, out: &mut Incoming<Spells>| in_batch(rows, games, asked, out);
    let counted = part.count(&columns, Incoming::default, in_batch, Incoming::append);
    counted.map(Incoming::by_game)
}

fn in_batch(
    rows: &Rows,
    games: &Games,
    asked: Asked,
    out: &mut Incoming<Spells>,
) -> Result<(), AskError> {
    let k = asked.k;
    let restrained = rows.booleans("restrained")?;
    let lost_at_last = rows.texts("fate")?.any_of(["lost"]);
    let fate_ply = rows.optional_numbers("fate_ply")?;
    let start = rows.pairs("start_ply")?;
    let last = |row: usize| u64::from(start[row] + PLIES_TO_LANDMARK) + 2 * u64::from(asked.within);
    let lost_in_time =
        |row| lost_at_last.at(row) && fate_ply.get(row).is_some_and(|ply| ply <= last(row));
    let (game, turns) = (rows.fours("game")?, rows.pairs("turns")?);
    let (low, high) = (rows.bytes("k_low")?, rows.bytes("k_high")?);
    let color = colors(rows)?;
    let kind = rows.texts("kind")?.read_as(|word| Kind::from_name(word?));
    let phase = rows.texts("phase")?.read_as(|word| Phase::from_name(word?));
    // Whether the piece was freed, and whether it was lost.
    let end = rows
        .texts("ended")?
        .read_as(|word| word.map(|end| (end == "freed", end == "lost")));
    let mut mask = Mask::all(rows);
    mask.and(|row| low[row] <= k && k <= high[row]);
    if let Some(wanted) = asked.developed.wanted() {
        mask.is(rows, "developed", wanted)?;
    }
    for row in mask.rows() {
        let unknown = |name: &str| rows.bad(format!("column \"{name}\" holds an unknown word"));
        let color = color.at(row).ok_or_else(|| unknown("color"))?;
        let (freed, lost) = end.at(row).ok_or_else(|| unknown("ended"))?;
        let kind = kind.at(row).ok_or_else(|| unknown("kind"))?;
        let phase = phase.at(row).ok_or_else(|| unknown("phase"))?;
        games.check(rows, game[row], color)?;
        let restrained = restrained.value(row);
        let spell = Spells {
            spells: 1,
            turns: turns[row].into(),
            freed: freed.into(),
            lost: lost.into(),
            restrained: restrained.into(),
            restrained_lost: (restrained && lost_in_time(row)).into(),
        };
        let of = Of {
            color: color as u8,
            kind: kind as u8,
            phase,
        };
        out.add(game[row], of, spell);
    }
    Ok(())
}
