//! Games of the player that are played over: kept with what was counted, or in the tables of games and moves.

use std::collections::BTreeSet;

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_examples::played::Played;
use hobble_examples::replay::Ply;
use hobble_examples::{GameReference, KeptGames, ShownGames};
use hobble_terms::Table;

use crate::own::Own;

/// What the player's games have in other tables, in an error.
const ROWS: &str = "spells or chances";

/// The player's games, and what they are read from.
#[derive(Clone, Copy)]
pub struct OwnGames<'a> {
    /// The tables.
    pub dataset: &'a Dataset,
    /// The games.
    pub own: &'a Own,
    /// Those that are kept with what was counted.
    pub kept: &'a KeptGames,
}

impl<'a> OwnGames<'a> {
    /// Finds the games with these numbers.
    ///
    /// # Errors
    ///
    /// Where a table cannot be read.
    pub fn find(self, numbers: impl IntoIterator<Item = usize>) -> Result<Replays<'a>, AskError> {
        let numbers = numbers.into_iter();
        let wanted: BTreeSet<_> = numbers.map(|number| self.own.games[number].key()).collect();
        Ok(Replays {
            own: self.own,
            games: ShownGames::of(self.dataset, self.kept, &wanted)?,
        })
    }
}

/// Some of the player's games, found.
pub struct Replays<'a> {
    own: &'a Own,
    games: ShownGames,
}

impl Replays<'_> {
    /// What names a game.
    ///
    /// # Errors
    ///
    /// Where it is missing.
    pub fn reference(&self, number: usize) -> Result<GameReference, AskError> {
        self.games.reference(&self.own.games[number].key(), ROWS)
    }

    /// Where a game begins in its archive, in bytes.
    ///
    /// # Errors
    ///
    /// Where it is missing.
    pub fn offset(&self, number: usize) -> Result<u64, AskError> {
        self.games.offset(&self.own.games[number].key(), ROWS)
    }

    /// The moves of a game.
    ///
    /// # Errors
    ///
    /// Where they are missing.
    pub fn plies(&self, number: usize) -> Result<Vec<Ply>, AskError> {
        self.games.plies(&self.own.games[number].key(), ROWS)
    }

    /// A game played through.
    ///
    /// # Errors
    ///
    /// Where its moves are missing or cannot be played.
    pub fn played(&self, number: usize) -> Result<Played, AskError> {
        self.games.played(&self.own.games[number].key(), ROWS)
    }

    /// The error of a row of `decisions` that does not agree with its game.
    pub fn disagrees(&self, number: usize, what: &str) -> AskError {
        let name = self.own.games[number].name();
        AskError::bad_table(Table::Decisions, format!("{what}, in {name}"))
    }
}
