//! Games of the player that are played over, from the tables of games and moves.

use std::collections::{BTreeMap, BTreeSet};

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_examples::locate::{self, Place};
use hobble_examples::played::Played;
use hobble_terms::Table;

use crate::own::Own;

/// Where some of the player's games stand.
pub struct Replays<'a> {
    dataset: &'a Dataset,
    own: &'a Own,
    moves: BTreeMap<(String, u64), Place>,
}

impl<'a> Replays<'a> {
    /// Of the player's games with these numbers.
    ///
    /// # Errors
    ///
    /// Where a table cannot be read.
    pub fn of(
        dataset: &'a Dataset,
        own: &'a Own,
        numbers: impl IntoIterator<Item = usize>,
    ) -> Result<Replays<'a>, AskError> {
        let numbers = numbers.into_iter();
        let wanted: BTreeSet<_> = numbers.map(|number| own.games[number].key()).collect();
        Ok(Replays {
            dataset,
            own,
            moves: locate::locate(dataset, Table::Moves, &wanted)?,
        })
    }

    /// The row of a game in the table of games.
    ///
    /// # Errors
    ///
    /// Where its part is missing.
    pub fn row(&self, number: usize) -> Result<Place, AskError> {
        self.own.games[number].place(self.dataset)
    }

    /// A game played through.
    ///
    /// # Errors
    ///
    /// Where its moves are missing or cannot be played.
    pub fn played(&self, number: usize) -> Result<Played, AskError> {
        let missing =
            || AskError::bad_table(Table::Moves, format!("{} is missing", self.name(number)));
        let moves = self.moves.get(&self.own.games[number].key());
        Played::of(&self.row(number)?, moves.ok_or_else(missing)?)
    }

    /// The error of a row of `decisions` that does not agree with its game.
    pub fn disagrees(&self, number: usize, what: &str) -> AskError {
        AskError::bad_table(
            Table::Decisions,
            format!("{what}, in {}", self.name(number)),
        )
    }

    fn name(&self, number: usize) -> String {
        self.own.games[number].name()
    }
}
