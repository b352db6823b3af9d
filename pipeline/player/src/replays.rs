//! Games of the player that are played over, from the tables of games and moves.

use std::collections::{BTreeMap, BTreeSet};

use hobble_conditions::AskError;
use hobble_dataset::{Dataset, Part};
use hobble_examples::locate::{self, Place};
use hobble_examples::played::Played;
use hobble_terms::Table;

use crate::sides::{Own, OwnGame};

/// Where some of the player's games stand.
pub struct Replays<'a> {
    own: &'a Own,
    games: Vec<Part>,
    moves: BTreeMap<(String, u64), Place>,
}

fn key(game: &OwnGame) -> (String, u64) {
    (game.source.clone(), game.game)
}

impl<'a> Replays<'a> {
    /// Of the player's games with these numbers.
    ///
    /// # Errors
    ///
    /// Where a table cannot be read.
    pub fn of(
        dataset: &Dataset,
        own: &'a Own,
        numbers: impl IntoIterator<Item = usize>,
    ) -> Result<Replays<'a>, AskError> {
        let numbers = numbers.into_iter();
        let wanted: BTreeSet<_> = numbers.map(|number| key(&own.games[number])).collect();
        Ok(Replays {
            own,
            games: dataset.parts(Table::Games)?,
            moves: locate::locate(dataset, Table::Moves, &wanted)?,
        })
    }

    /// The row of a game in the table of games.
    pub fn row(&self, number: usize) -> Place {
        let game = &self.own.games[number];
        Place {
            part: self.games[game.part].clone(),
            first: game.row,
            rows: 1,
        }
    }

    /// A game played through.
    ///
    /// # Errors
    ///
    /// Where its moves are missing or cannot be played.
    pub fn played(&self, number: usize) -> Result<Played, AskError> {
        let missing =
            || AskError::bad_table(Table::Moves, format!("{} is missing", self.name(number)));
        let moves = self.moves.get(&key(&self.own.games[number]));
        Played::of(&self.row(number), moves.ok_or_else(missing)?)
    }

    /// The error of a row of `decisions` that does not agree with its game.
    pub fn disagrees(&self, number: usize, what: &str) -> AskError {
        AskError::bad_table(
            Table::Decisions,
            format!("{what}, in {}", self.name(number)),
        )
    }

    fn name(&self, number: usize) -> String {
        let game = &self.own.games[number];
        format!("game {} of {}", game.game, game.source)
    }
}
