//! How many spells a claim is about, without what became of the pieces: for whoever is still choosing
//! its conditions, and should not choose them by the outcome.

use hobble_conditions::AskError;
use hobble_conditions::chosen::Chooses as _;
use hobble_dataset::{Dataset, Part};
use hobble_terms::Table;
use rayon::prelude::*;

use super::file::Claim;
use super::held;

/// Spells that meet a claim's conditions.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Matching {
    /// Spells.
    pub spells: u64,
    /// Games with at least one of them.
    pub games: u64,
}

/// Counts the spells that a claim is about.
///
/// # Errors
///
/// Where no side passes, or the table of spells is missing or unreadable.
pub fn matching(dataset: &Dataset, claim: &Claim) -> Result<Matching, AskError> {
    let chosen = claim.chosen(dataset)?;
    let parts = chosen.parts(Table::Spells)?;
    let of_parts = parts.par_iter().map(|part| of_part(claim, part));
    of_parts.try_reduce(Matching::default, |a, b| {
        Ok(Matching {
            spells: a.spells + b.spells,
            games: a.games + b.games,
        })
    })
}

fn of_part(claim: &Claim, part: &Part) -> Result<Matching, AskError> {
    let groups = part.groups()?.into_par_iter();
    // Rows stand in the order of their games, and a game may go on in the next row group.
    let games_of = |group| -> Result<Vec<u64>, AskError> {
        let places = held::places(claim, part, group)?;
        if places.is_empty() {
            return Ok(Vec::new());
        }
        let rows = part.pick(&["game"], group, &places)?;
        let game = rows.numbers("game")?;
        Ok((0..rows.len()).map(|row| game.at(row)).collect())
    };
    let games: Vec<Vec<u64>> = groups.map(games_of).collect::<Result<_, _>>()?;
    let mut all = games.concat();
    let spells = all.len() as u64;
    all.dedup();
    Ok(Matching {
        spells,
        games: all.len() as u64,
    })
}
