//! What the table of games says of each game of a part: ratings, players, start position.

use hobble_conditions::AskError;
use hobble_dataset::Part;
use hobble_dataset::columns::{Read, Rows};
use hobble_terms::fold::fold;
use hobble_terms::names;
use xxhash_rust::xxh3::xxh3_64;

/// What stands on the board of one side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Units {
    /// Knights, bishops, rooks and queens.
    pub pieces: i8,
    /// Pawns.
    pub pawns: i8,
}

/// A game.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Game {
    /// Ratings of White and Black.
    pub ratings: [Option<u16>; 2],
    /// Folds of White and Black: persons as the folds are games. Without a name it is the
    /// game's.
    pub folds: [u8; 2],
    /// Units of White and Black at the start.
    pub start: [Units; 2],
    /// Whether Black has the first move.
    pub black_first: bool,
}

/// The games of a part, by number.
#[derive(Debug, Default)]
pub struct Games {
    numbers: Vec<u32>,
    games: Vec<Game>,
}

const COLUMNS: [&str; 7] = [
    "game",
    "game_id",
    "white",
    "black",
    "white_rating",
    "black_rating",
    "start_fen",
];

/// Units at the usual start.
const USUAL: Units = Units {
    pieces: 7,
    pawns: 8,
};

impl Games {
    /// Reads a part of the table of games.
    pub fn read(part: &Part) -> Result<Games, AskError> {
        let mut games = Games::default();
        part.each(&COLUMNS, |rows| games.in_batch(rows))?;
        if !games.numbers.is_sorted() {
            let what = format!("the games of {} are not in order", part.id());
            return Err(AskError::bad_table(hobble_terms::Table::Games, what));
        }
        Ok(games)
    }

    /// A game by its number.
    pub fn get(&self, number: u32) -> Option<Game> {
        let place = self.numbers.binary_search(&number).ok()?;
        self.games.get(place).copied()
    }

    fn in_batch(&mut self, rows: &Rows) -> Result<(), AskError> {
        let (number, id) = (rows.fours("game")?, rows.numbers("game_id")?);
        let players = [player(rows, "white")?, player(rows, "black")?];
        let ratings = [
            rows.optional_numbers("white_rating")?,
            rows.optional_numbers("black_rating")?,
        ];
        let start = rows
            .texts("start_fen")?
            .read_as(|fen| fen.map_or(([USUAL; 2], false), begins));
        for (row, &number) in number.iter().enumerate() {
            let of_game = fold(id.at(row));
            let (start, black_first) = start.at(row);
            self.numbers.push(number);
            self.games.push(Game {
                ratings: ratings
                    .each_ref()
                    .map(|rating| rating.get(row).map(|rating| rating as u16)),
                folds: players
                    .each_ref()
                    .map(|player| player.at(row).unwrap_or(of_game)),
                start,
                black_first,
            });
        }
        Ok(())
    }
}

/// The folds of a column of names: equal for spellings that differ in case, accents, punctuation
/// or the order of words. An empty name and a lone question mark mean no name.
fn player<'a>(rows: &'a Rows, column: &str) -> Result<Read<'a, Option<u8>>, AskError> {
    let of = |words: String| fold(xxh3_64(words.as_bytes()));
    let read = |name: Option<&str>| names::player_key(name?).map(of);
    Ok(rows.texts(column)?.read_as(read))
}

/// Units of White and Black in a FEN, and whether Black has the first move.
fn begins(fen: &str) -> ([Units; 2], bool) {
    let mut units = [Units {
        pieces: 0,
        pawns: 0,
    }; 2];
    let mut words = fen.split_ascii_whitespace();
    let board = words.next().unwrap_or_default();
    for letter in board.chars() {
        let side = &mut units[usize::from(letter.is_ascii_lowercase())];
        match letter.to_ascii_lowercase() {
            'p' => side.pawns += 1,
            'n' | 'b' | 'r' | 'q' => side.pieces += 1,
            _ => {}
        }
    }
    (units, words.next() == Some("b"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_of_a_start() {
        let usual = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";
        assert_eq!(begins(usual), ([USUAL; 2], false));
        let ([white, black], black_first) = begins("4k3/pp6/8/8/8/8/4Q3/R3K3 b - - 0 1");
        assert_eq!((white.pieces, white.pawns), (2, 0));
        assert_eq!((black.pieces, black.pawns, black_first), (0, 2, true));
    }
}
