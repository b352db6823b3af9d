//! Turns of developed pieces in the sample, counted side by side by the time their owner has left:
//! how many there were, and at how many the piece was restrained.

use std::collections::BTreeMap;

use crate::Habits;
use crate::count::Count;
use crate::hurry::Hurry;
use crate::sides::{NOT_COUNTED, OWN, Places, own_game};
use crate::tally::{Tally, holds_own, tallied};
use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_dataset::columns::{Rows, float};
use hobble_dataset::part::Part;
use hobble_terms::Table;

/// Adds the turns of a dataset to what is counted; nothing where it has no table of them.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn count(
    habits: &Habits,
    dataset: &Dataset,
    own: &BTreeMap<String, Places>,
    peers: &BTreeMap<String, Places>,
    empty: &Tally,
) -> Result<Tally, AskError> {
    if !dataset.has(Table::Turns) {
        return Ok(empty.clone());
    }
    let restrained = format!("restrained_{}", habits.k);
    let columns = ["game", "sampled", "color", "clock", &restrained];
    let in_group = |part: &Part, group, places: [&Places; 2], tally: &mut Tally| {
        if holds_own(part, group, places)?.is_none() {
            return Ok(());
        }
        for rows in part.read(&columns, group)? {
            in_batch(&rows?, &restrained, places, tally)?;
        }
        Ok(())
    };
    tallied(dataset.parts(Table::Turns)?, [own, peers], empty, in_group)
}

fn in_batch(
    rows: &Rows,
    restrained: &str,
    [own, peers]: [&Places; 2],
    tally: &mut Tally,
) -> Result<(), AskError> {
    let games = rows.fours("game")?;
    let (sampled, clock) = (rows.booleans("sampled")?, rows.floats("clock")?);
    let restrained = rows.optional_numbers(restrained)?;
    let sides = ["white", "black"];
    let color = rows.texts("color")?;
    let side = color.read_as(|word| sides.iter().position(|side| Some(*side) == word));
    for (row, &game) in games.iter().enumerate() {
        let (true, Some(left)) = (sampled.value(row), float(clock, row)) else {
            continue;
        };
        let (own_sides, peer_sides) = (own.of(game.into()), peers.of(game.into()));
        if own_sides == [NOT_COUNTED; 2] && peer_sides == [NOT_COUNTED; 2] {
            continue;
        }
        let side = side.at(row).ok_or_else(|| {
            let word = color.get(row).unwrap_or("null");
            rows.bad(format!("invalid color \"{word}\""))
        })?;
        let [turns, spent_restrained] = match Hurry::of(left) {
            Hurry::Hurried => [Count::HurriedTurns, Count::HurriedTurnsRestrained],
            Hurry::Unhurried => [Count::UnhurriedTurns, Count::UnhurriedTurnsRestrained],
        };
        let is_restrained = u64::from(restrained.get(row).is_some());
        let add = |counts: &mut [u64]| {
            counts[turns as usize] += 1;
            counts[spent_restrained as usize] += is_restrained;
        };
        if let Some(number) = own_game(own_sides[side]) {
            add(&mut tally.own[number]);
        }
        if let Some(number) = own_game(own_sides[1 - side]) {
            add(&mut tally.opponents[number]);
        }
        if peer_sides[side] < OWN {
            add(&mut tally.peers[peer_sides[side] as usize]);
        }
    }
    Ok(())
}
