//! Chances to restrain, counted by side on move, kind of the piece and phase.

use super::games::{COLORS, Games};
use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, Phase};
use hobble_dataset::columns::Rows;
use hobble_dataset::part::Part;

/// So many parts of a chance are counted for what a random move would take.
pub const PARTS: u64 = 1000;

/// Chances of one sort in the sample.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Chances {
    /// Chances.
    pub chances: u64,
    /// Those taken.
    pub taken: u64,
    /// What a quiet move drawn at random would have taken, in thousandths of a chance.
    pub at_random: u64,
}

/// Counts by group of games, kind and phase.
pub type BySort = Vec<[[Chances; 3]; 4]>;

const COLUMNS: [&str; 7] = [
    "game",
    "color",
    "kind",
    "phase",
    "restraining",
    "quiet",
    "restrains",
];

fn none(games: &Games) -> BySort {
    vec![Default::default(); games.groups.len()]
}

/// Reads a part of the table of decisions.
pub fn read(part: &Part, games: &Games) -> Result<BySort, AskError> {
    let in_batch = |rows: &Rows, out: &mut BySort| in_batch(rows, games, out);
    part.count(&COLUMNS, || none(games), in_batch, add)
}

fn add(sums: &mut BySort, counts: BySort) {
    for (sums, counts) in sums.iter_mut().zip(&counts) {
        for (sum, count) in sums.iter_mut().flatten().zip(counts.iter().flatten()) {
            sum.add(count);
        }
    }
}

impl Chances {
    /// Adds the counts of another.
    pub fn add(&mut self, other: &Chances) {
        self.chances += other.chances;
        self.taken += other.taken;
        self.at_random += other.at_random;
    }
}

fn in_batch(rows: &Rows, games: &Games, out: &mut BySort) -> Result<(), AskError> {
    let game = rows.fours("game")?;
    let (restraining, quiet) = (rows.pairs("restraining")?, rows.pairs("quiet")?);
    let restrains = rows.booleans("restrains")?;
    let color = |word: &str| COLORS.iter().position(|color| *color == word);
    let color = rows.texts("color")?.read_as(|word| color(word?));
    let kind = rows.texts("kind")?.read_as(|word| Kind::from_name(word?));
    let phase = rows.texts("phase")?.read_as(|word| Phase::from_name(word?));
    for row in 0..rows.len() {
        let unknown = |name: &str| rows.bad(format!("column \"{name}\" holds an unknown word"));
        let color = color.at(row).ok_or_else(|| unknown("color"))?;
        let kind = kind.at(row).ok_or_else(|| unknown("kind"))?;
        let phase = phase.at(row).ok_or_else(|| unknown("phase"))?;
        let group = games
            .group(game[row], color)
            .ok_or_else(|| rows.bad(format!("game {} is not among the games", game[row])))?;
        let moves = u64::from(quiet[row].max(1));
        // Rounded to the nearest part.
        let at_random = (2 * PARTS * u64::from(restraining[row]) + moves) / (2 * moves);
        out[group][kind as usize][phase as usize].add(&Chances {
            chances: 1,
            taken: restrains.value(row).into(),
            at_random,
        });
    }
    Ok(())
}
