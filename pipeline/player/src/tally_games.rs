//! Spells, chances and turns of all sides that are counted, put together.

use std::collections::BTreeMap;

use crate::Habits;
use crate::chances;
use crate::count::Count;
use crate::peer_sides::Peers;
use crate::piece_turns;
use crate::sides::Places;
use crate::spells;
use crate::tally::{Counted, Tally};
use hobble_conditions::AskError;
use hobble_dataset::Dataset;

/// Counts the player's spells, chances and turns of one dataset and the peers' of the same or another.
///
/// # Errors
///
/// Where the table of spells is missing, or a table is unreadable or not of its schema.
pub fn tally(
    habits: &Habits,
    dataset: &Dataset,
    own: &BTreeMap<String, Places>,
    games: usize,
    peers: &Peers,
    peer_dataset: Option<&Dataset>,
) -> Result<Tally, AskError> {
    let mut tally = Tally::new(games, peers.cells.len());
    for counts in tally.own.iter_mut().chain(&mut tally.opponents) {
        counts[Count::Games as usize] = 1;
    }
    for (cell, sides) in peers.sides.iter().enumerate() {
        for (fold, sides) in sides.iter().enumerate() {
            tally.peers[cell * 64 + fold][Count::Games as usize] = *sides;
        }
    }
    let empty = Tally::new(games, peers.cells.len());
    let no_places = BTreeMap::new();
    let reads = match peer_dataset {
        None => vec![(dataset, own, &peers.places)],
        Some(theirs) => vec![
            (dataset, own, &no_places),
            (theirs, &no_places, &peers.places),
        ],
    };
    for (dataset, own, peers) in reads {
        let counted = Counted {
            habits,
            dataset,
            places: [own, peers],
            empty: &empty,
        };
        tally = tally
            .add(spells::count(&counted)?)
            .add(chances::count(&counted)?)
            .add(piece_turns::count(&counted)?);
    }
    tally
        .spells
        .sort_by_key(|spell| (spell.game, spell.start_ply, spell.piece));
    Ok(tally)
}
