//! Two halves of the games, such that no player and no game stands in both.
//!
//! A player stands in the half that the lowest bit of XXH3-64 (seed 0) of the surname names, so that
//! all spellings of a name with the same surname stand together (definitions, section 11). A game
//! stands in the half of its two players; where they stand in different halves, or one of them is
//! not named, it is left out. Where games with the same moves stand in both halves, all of them are
//! left out: [`crate::shared`] counts which moves do.

use hobble_conditions::AskError;
use hobble_conditions::sum::State;
use hobble_dataset::Part;
use hobble_terms::names;
use rustc_hash::FxHashSet;
use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_64;

/// A half of the games.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Half {
    /// The one in which claims are looked for.
    Search,
    /// The one that is opened for those that were found.
    Locked,
}

/// How the games were parted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counts {
    /// Games.
    pub games: u64,
    /// Those in which claims are looked for.
    pub search: u64,
    /// Those that are locked.
    pub locked: u64,
    /// Left out: the players stand in different halves.
    pub players_apart: u64,
    /// Left out: a player is not named.
    pub unnamed: u64,
    /// Left out: games with the same moves stand in both halves.
    pub moves_in_both: u64,
}

impl State for Counts {
    fn add(&mut self, other: Counts) {
        self.games += other.games;
        self.search += other.search;
        self.locked += other.locked;
        self.players_apart += other.players_apart;
        self.unnamed += other.unnamed;
        self.moves_in_both += other.moves_in_both;
    }
}

/// Hashes of the moves that games in both halves have, in order.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Shared(pub(crate) Vec<u64>);

impl Shared {
    /// Whether these moves are among them.
    pub fn has(&self, moves: u64) -> bool {
        self.0.binary_search(&moves).is_ok()
    }
}

/// The games of a part that stand in each half.
#[derive(Debug, Default)]
pub struct Split {
    /// How the games were parted.
    pub counts: Counts,
    halves: [FxHashSet<u32>; 2],
}

impl Split {
    /// Parts the games of a part; where sides are chosen, those that have one.
    ///
    /// # Errors
    ///
    /// Where the table is unreadable.
    pub fn of(games: &Part, shared: &Shared) -> Result<Split, AskError> {
        let mut split = Split::default();
        let mut moves_in_both = 0;
        let counts = placed(games, |game| {
            if shared.has(game.moves) {
                moves_in_both += 1;
            } else {
                split.halves[game.half as usize].insert(game.game);
            }
        })?;
        let number = |half| split.games(half).len() as u64;
        split.counts = Counts {
            search: number(Half::Search),
            locked: number(Half::Locked),
            moves_in_both,
            ..counts
        };
        Ok(split)
    }

    /// The games that stand in a half.
    pub fn games(&self, half: Half) -> &FxHashSet<u32> {
        &self.halves[half as usize]
    }
}

/// A game that its players place.
pub(crate) struct Placed {
    game: u32,
    /// Hash of its moves.
    pub(crate) moves: u64,
    pub(crate) half: Half,
}

/// The half of a player; `None` where the name has no word.
pub fn of_player(name: &str) -> Option<Half> {
    let words = names::words(name);
    (!words.is_empty()).then(|| {
        let surname = names::surname(name, &words);
        match xxh3_64(surname.as_bytes()) & 1 {
            0 => Half::Search,
            _ => Half::Locked,
        }
    })
}

/// Goes through the games of a part that their players place; how many they are, and how many are left out.
pub(crate) fn placed(games: &Part, mut see: impl FnMut(Placed) + Send) -> Result<Counts, AskError> {
    let mut counts = Counts::default();
    games.each(&["game", "moves_id", "white", "black"], |rows| {
        let (game, moves) = (rows.numbers("game")?, rows.numbers("moves_id")?);
        let of = |name: Option<&str>| name.and_then(of_player);
        let white = rows.texts("white")?.read_as(of);
        let black = rows.texts("black")?.read_as(of);
        for row in 0..rows.len() {
            let number = game.at(row) as u32;
            if !games.looks_at_game(number) {
                continue;
            }
            counts.games += 1;
            match (white.at(row), black.at(row)) {
                (Some(white), Some(black)) if white == black => see(Placed {
                    game: number,
                    moves: moves.at(row),
                    half: white,
                }),
                (Some(_), Some(_)) => counts.players_apart += 1,
                _ => counts.unnamed += 1,
            }
        }
        Ok::<_, AskError>(())
    })?;
    Ok(counts)
}
