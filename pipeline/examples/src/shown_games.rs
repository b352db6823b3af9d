//! Games that an answer may show: in a state, with their moves, or where they stand in the tables.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_terms::Table;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use shakmaty::Role;

use crate::locate::{self, Place, locate};
use crate::played::Played;
use crate::reference::GameReference;
use crate::replay::{self, Ply};

/// Source and number of a game.
pub type Key = (String, u64);

/// Games kept with a state, so that its answer needs no tables.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptGames(#[serde(with = "hobble_conditions::sum::pairs")] BTreeMap<Key, KeptGame>);

/// A game as it is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct KeptGame {
    game: GameReference,
    /// Where it begins in its archive, in bytes.
    offset: u64,
    start_fen: Option<String>,
    /// The moves, with a space between; `None` where the table of moves was not there.
    moves: Option<String>,
}

impl KeptGames {
    /// Reads some games; those that are not in the tables are left out.
    ///
    /// # Errors
    ///
    /// Where a table is unreadable or inconsistent.
    pub fn read(dataset: &Dataset, wanted: &BTreeSet<Key>) -> Result<KeptGames, AskError> {
        if wanted.is_empty() || !dataset.has(Table::Games) {
            return Ok(KeptGames::default());
        }
        let games = locate(dataset, Table::Games, wanted)?;
        let moves = match dataset.has(Table::Moves) {
            true => Some(locate(dataset, Table::Moves, wanted)?),
            false => None,
        };
        let kept = games.into_par_iter().filter_map(|(key, place)| {
            let moves = match &moves {
                None => None,
                Some(moves) => Some(moves.get(&key)?),
            };
            Some(KeptGame::read(&place, moves).map(|game| (key, game)))
        });
        Ok(KeptGames(kept.collect::<Result<_, _>>()?))
    }

    /// Adds those of another state.
    pub fn extend(&mut self, other: KeptGames) {
        self.0.extend(other.0);
    }

    /// Adds those of another state, and keeps the wanted ones.
    pub fn add(&mut self, other: KeptGames, wanted: impl FnOnce() -> BTreeSet<Key>) {
        if other.0.is_empty() && self.0.is_empty() {
            return;
        }
        self.extend(other);
        let wanted = wanted();
        self.0.retain(|key, _| wanted.contains(key));
    }
}

impl KeptGame {
    fn read(place: &Place, moves: Option<&Place>) -> Result<KeptGame, AskError> {
        let (game, start_fen) = locate::reference(place)?;
        let moves = moves.map(replay::read_moves).transpose()?;
        Ok(KeptGame {
            game,
            offset: locate::offset(place)?,
            start_fen,
            moves: moves.map(|plies| written(&plies)),
        })
    }
}

/// Games that an answer may show.
pub struct ShownGames {
    kept: BTreeMap<Key, KeptGame>,
    games: BTreeMap<Key, Place>,
    moves: BTreeMap<Key, Place>,
}

impl ShownGames {
    /// The wanted games: kept ones, and where the others stand in the tables.
    ///
    /// # Errors
    ///
    /// Where the tables of games and moves cannot be read.
    pub fn of(
        dataset: &Dataset,
        kept: &KeptGames,
        wanted: &BTreeSet<Key>,
    ) -> Result<ShownGames, AskError> {
        let mut found = ShownGames {
            kept: BTreeMap::new(),
            games: BTreeMap::new(),
            moves: BTreeMap::new(),
        };
        let mut rest = BTreeSet::new();
        for key in wanted {
            match kept.0.get(key) {
                Some(game) => {
                    found.kept.insert(key.clone(), game.clone());
                }
                None => {
                    rest.insert(key.clone());
                }
            }
        }
        if !rest.is_empty() {
            found.games = locate(dataset, Table::Games, &rest)?;
            if dataset.has(Table::Moves) {
                found.moves = locate(dataset, Table::Moves, &rest)?;
            }
        }
        Ok(found)
    }

    /// Whether the moves of a game are known.
    pub fn knows(&self, key: &Key) -> bool {
        let kept = self.kept.get(key);
        kept.is_some_and(|game| game.moves.is_some()) || self.moves.contains_key(key)
    }

    /// A game played through; `rows` says in an error of what table's rows the game is.
    ///
    /// # Errors
    ///
    /// Where the game is missing, a table unreadable, or the moves cannot be played.
    pub fn played(&self, key: &Key, rows: &str) -> Result<Played, AskError> {
        let plies = self.plies(key, rows)?;
        let (game, start_fen) = match self.kept.get(key) {
            Some(kept) => (kept.game.clone(), kept.start_fen.clone()),
            None => locate::reference(self.place(key, rows)?)?,
        };
        Played::from_moves(game, start_fen, plies)
    }

    /// The moves of a game.
    ///
    /// # Errors
    ///
    /// Where the game is missing, or a table unreadable.
    pub fn plies(&self, key: &Key, rows: &str) -> Result<Vec<Ply>, AskError> {
        let kept = self.kept.get(key);
        match kept.and_then(|kept| kept.moves.as_ref()) {
            Some(moves) => read(moves).ok_or_else(|| {
                AskError::State(format!("invalid moves of game {} of {}", key.1, key.0))
            }),
            None => {
                let moves = self.moves.get(key);
                replay::read_moves(moves.ok_or_else(|| missing(Table::Moves, key, rows))?)
            }
        }
    }

    /// What names a game.
    ///
    /// # Errors
    ///
    /// Where the game is missing or the table unreadable.
    pub fn reference(&self, key: &Key, rows: &str) -> Result<GameReference, AskError> {
        match self.kept.get(key) {
            Some(kept) => Ok(kept.game.clone()),
            None => Ok(locate::reference(self.place(key, rows)?)?.0),
        }
    }

    /// Where a game begins in its archive, in bytes.
    ///
    /// # Errors
    ///
    /// Where the game is missing or the table unreadable.
    pub fn offset(&self, key: &Key, rows: &str) -> Result<u64, AskError> {
        match self.kept.get(key) {
            Some(kept) => Ok(kept.offset),
            None => locate::offset(self.place(key, rows)?),
        }
    }

    fn place(&self, key: &Key, rows: &str) -> Result<&Place, AskError> {
        let place = self.games.get(key);
        place.ok_or_else(|| missing(Table::Games, key, rows))
    }
}

/// The error of a game, or a move of it, that a table lacks though others have rows of it.
pub fn missing(table: Table, key: &Key, rows: &str) -> AskError {
    let what = format!("game {} of {} has {rows} but is not there", key.1, key.0);
    AskError::bad_table(table, what)
}

/// Letters of promotions, and the sign of castling, which in Chess960 is not seen from the squares.
const PROMOTIONS: [(char, Role); 4] = [
    ('n', Role::Knight),
    ('b', Role::Bishop),
    ('r', Role::Rook),
    ('q', Role::Queen),
];
const CASTLING: char = 'o';

/// Plies as `e2e4 e7e5`, with a letter behind a promotion and castling.
fn written(plies: &[Ply]) -> String {
    let mut text = String::new();
    for ply in plies {
        if !text.is_empty() {
            text.push(' ');
        }
        let _ = write!(text, "{}{}", ply.from, ply.to);
        let promotion = PROMOTIONS
            .iter()
            .find(|(_, role)| ply.promotion == Some(*role));
        text.extend(promotion.map(|(letter, _)| letter));
        text.extend(ply.castling.then_some(CASTLING));
    }
    text
}

/// Plies read back; `None` where the text is not one of plies.
fn read(text: &str) -> Option<Vec<Ply>> {
    let words = text.split(' ').filter(|word| !word.is_empty());
    (1..)
        .zip(words)
        .map(|(ply, word)| {
            let (from, to) = (word.get(..2)?.parse().ok()?, word.get(2..4)?.parse().ok()?);
            let letter = word.get(4..)?.chars().next();
            let promotion = PROMOTIONS.iter().find(|(one, _)| Some(*one) == letter);
            Some(Ply {
                ply,
                from,
                to,
                promotion: promotion.map(|(_, role)| *role),
                castling: letter == Some(CASTLING),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use shakmaty::Square;

    #[test]
    fn plies_are_read_as_they_were_written() {
        let ply = |ply, from, to, promotion, castling| Ply {
            ply,
            from,
            to,
            promotion,
            castling,
        };
        let plies = [
            ply(1, Square::E2, Square::E4, None, false),
            ply(2, Square::E8, Square::G8, None, true),
            ply(3, Square::B7, Square::B8, Some(Role::Bishop), false),
            ply(4, Square::F1, Square::G1, None, false),
        ];
        let text = written(&plies);
        assert_eq!(text, "e2e4 e8g8o b7b8b f1g1");
        assert_eq!(read(&text).unwrap(), plies);
        assert_eq!(read("").unwrap(), []);
        assert!(read("e2e9").is_none() && read("e2").is_none());
    }
}
