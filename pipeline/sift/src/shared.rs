//! The first count: which moves are played in both halves of the games.

use hobble_conditions::AskError;
use hobble_conditions::any_state::Written;
use hobble_conditions::sum::{State, Sum};
use hobble_dataset::{Dataset, PartId};
use hobble_report::Reported;
use hobble_terms::Table;
use serde::{Deserialize, Serialize};

use crate::grid::Grid;
use crate::split::{Half, Shared, placed};
use crate::step::{ABOUT, Step, not_yet};

/// Hashes of the moves of the games in each half: eight bytes for each game that its players place.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Moves {
    search: Vec<u64>,
    locked: Vec<u64>,
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

impl Step<Nothing> {
    /// The first count for a grid.
    pub fn start(grid: &Grid) -> Step<Nothing> {
        Step {
            grid: grid.clone(),
            known: (),
        }
    }
}

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

impl Written for Step<Nothing> {
    const ABOUT: &'static str = ABOUT;

    fn name(&self) -> String {
        self.grid.hash()
    }

    fn is_first(&self) -> bool {
        true
    }

    fn reported(&self, _: Shared) -> Result<Box<dyn Reported>, AskError> {
        Err(not_yet(
            "which moves both halves have",
            "count the parts again with --first",
        ))
    }
}
