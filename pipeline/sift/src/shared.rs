//! The first count: which moves are played in both halves of the games.

use hobble_conditions::AskError;
use hobble_conditions::sum::{State, Sum};
use hobble_dataset::{Dataset, PartId};
use hobble_terms::Table;
use serde::{Deserialize, Serialize};

use crate::split::{Half, placed};
use crate::step::Step;

/// Hashes of the moves that games in both halves have, in order.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Shared(Vec<u64>);

/// Hashes of the moves of the games in each half: eight bytes for each game that its players place.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Moves {
    search: Vec<u64>,
    locked: Vec<u64>,
}

impl Shared {
    /// Whether these moves are among them.
    pub fn has(&self, moves: u64) -> bool {
        self.0.binary_search(&moves).is_ok()
    }
}

impl State for Moves {
    fn add(&mut self, other: Moves) {
        for (own, more) in [
            (&mut self.search, other.search),
            (&mut self.locked, other.locked),
        ] {
            own.extend(more);
            in_order(own);
        }
    }
}

/// Each once, in order. Sorting is stable, since that is quick with what consists of two runs in order.
fn in_order(moves: &mut Vec<u64>) {
    moves.sort();
    moves.dedup();
}

/// What is known before the first count: nothing.
pub type Nothing = ();

impl Sum for Step<Nothing> {
    type State = Moves;
    type Answer = Shared;

    fn tables(&self) -> &'static [Table] {
        &[Table::Games]
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<Moves, AskError> {
        let mut moves = Moves::default();
        if let Some(games) = dataset.part(Table::Games, id) {
            placed(&games, |game| match game.half {
                Half::Search => moves.search.push(game.moves),
                Half::Locked => moves.locked.push(game.moves),
            })?;
        }
        in_order(&mut moves.search);
        in_order(&mut moves.locked);
        Ok(moves)
    }

    fn answer(&self, _: &Dataset, moves: &Moves) -> Result<Shared, AskError> {
        let in_both = |one: &&u64| moves.locked.binary_search(one).is_ok();
        Ok(Shared(
            moves.search.iter().filter(in_both).copied().collect(),
        ))
    }
}
