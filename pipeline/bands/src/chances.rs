//! Chances to restrain, counted by side on move of a game, kind of the piece and phase.

use std::ops::AddAssign;

use super::games::{Games, colors};
use super::per_side::{Incoming, Of, PerSide};
use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, Phase};
use hobble_dataset::columns::Rows;
use hobble_dataset::part::Part;

/// So many parts of a chance are counted for what a random move would take.
pub const PARTS: u32 = 1000;

/// Chances of one sort in the sample.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Chances {
    /// Chances.
    pub chances: u32,
    /// Those taken.
    pub taken: u32,
    /// What a quiet move drawn at random would have taken, in thousandths of a chance.
    pub at_random: u32,
}

const COLUMNS: [&str; 7] = [
    "game",
    "color",
    "kind",
    "phase",
    "restraining",
    "quiet",
    "restrains",
];

/// Reads a part of the table of decisions.
pub fn read(part: &Part, games: &Games) -> Result<PerSide<Chances>, AskError> {
    let in_batch = |rows: &Rows, out: &mut Incoming<Chances>| in_batch(rows, games, out);
    let counted = part.count(&COLUMNS, Incoming::default, in_batch, Incoming::append);
    counted.map(Incoming::by_game)
}

impl AddAssign for Chances {
    fn add_assign(&mut self, other: Chances) {
        self.chances += other.chances;
        self.taken += other.taken;
        self.at_random += other.at_random;
    }
}

fn in_batch(rows: &Rows, games: &Games, out: &mut Incoming<Chances>) -> Result<(), AskError> {
    let game = rows.fours("game")?;
    let (restraining, quiet) = (rows.pairs("restraining")?, rows.pairs("quiet")?);
    let restrains = rows.booleans("restrains")?;
    let color = colors(rows)?;
    let kind = rows.texts("kind")?.read_as(|word| Kind::from_name(word?));
    let phase = rows.texts("phase")?.read_as(|word| Phase::from_name(word?));
    for row in 0..rows.len() {
        let unknown = |name: &str| rows.bad(format!("column \"{name}\" holds an unknown word"));
        let color = color.at(row).ok_or_else(|| unknown("color"))?;
        let kind = kind.at(row).ok_or_else(|| unknown("kind"))?;
        let phase = phase.at(row).ok_or_else(|| unknown("phase"))?;
        games.check(rows, game[row], color)?;
        let moves = u32::from(quiet[row].max(1));
        let of = Of {
            color: color as u8,
            kind: kind as u8,
            phase,
        };
        let chance = Chances {
            chances: 1,
            taken: restrains.value(row).into(),
            // Rounded to the nearest part.
            at_random: (2 * PARTS * u32::from(restraining[row]) + moves) / (2 * moves),
        };
        out.add(game[row], of, chance);
    }
    Ok(())
}
