//! Spells, counted by side, kind and phase.

use super::games::{COLORS, Games};
use hobble_conditions::AskError;
use hobble_conditions::filter::Mask;
use hobble_conditions::terms::{Kind, Phase, YesNo};
use hobble_dataset::columns::Rows;
use hobble_dataset::part::Part;
use hobble_terms::PLIES_TO_LANDMARK;

/// Counts of spells of one sort.
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
    /// Spells that are restraints.
    pub restrained: u64,
    /// Those after whose landmark the piece was lost within the horizon.
    pub restrained_lost: u64,
}

impl Spells {
    /// Adds other spells.
    pub fn add(&mut self, other: &Spells) {
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

/// Counts by group of games, kind and phase.
pub type BySort = Vec<[[Spells; 3]; 4]>;

/// Nothing counted.
pub fn none(games: &Games) -> BySort {
    vec![Default::default(); games.groups.len()]
}

/// Reads a part of the table of spells.
pub fn read(part: &Part, games: &Games, asked: Asked) -> Result<BySort, AskError> {
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
    let in_batch = |rows: &Rows, out: &mut BySort| in_batch(rows, games, asked, out);
    part.count(&columns, || none(games), in_batch, add)
}

fn add(sums: &mut BySort, counts: BySort) {
    for (sums, counts) in sums.iter_mut().zip(&counts) {
        for (sum, count) in sums.iter_mut().flatten().zip(counts.iter().flatten()) {
            sum.add(count);
        }
    }
}

fn in_batch(rows: &Rows, games: &Games, asked: Asked, out: &mut BySort) -> Result<(), AskError> {
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
    let color = |word: &str| COLORS.iter().position(|color| *color == word);
    let color = rows.texts("color")?.read_as(|word| color(word?));
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
        let group = games
            .group(game[row], color)
            .ok_or_else(|| rows.bad(format!("game {} is not among the games", game[row])))?;
        let sum = &mut out[group][kind as usize][phase as usize];
        sum.spells += 1;
        sum.turns += u64::from(turns[row]);
        sum.freed += u64::from(freed);
        sum.lost += u64::from(lost);
        if restrained.value(row) {
            sum.restrained += 1;
            sum.restrained_lost += u64::from(lost_in_time(row));
        }
    }
    Ok(())
}
