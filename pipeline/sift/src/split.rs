//! Two halves of the games, such that no player and no game stands in both.
//!
//! A player stands in the half that the lowest bit of XXH3-64 (seed 0) of the surname names, so that
//! all spellings of a name with the same surname stand together (definitions, section 11). A game
//! stands in the half of its two players; where they stand in different halves, or one of them is
//! not named, it is left out. Where games with the same moves stand in both halves, all of them are
//! left out.

use hobble_conditions::AskError;
use hobble_dataset::{Dataset, Part, PartId};
use hobble_terms::{Table, names};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use serde::Serialize;
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
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
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

/// The games of each half, by part.
#[derive(Debug, Default)]
pub struct Split {
    /// How the games were parted.
    pub counts: Counts,
    halves: [FxHashMap<PartId, FxHashSet<u32>>; 2],
}

/// A game that its players place.
struct Placed {
    game: u32,
    moves: u64,
    half: Half,
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

impl Split {
    /// Parts the games of a dataset; of one with chosen sides those that have one.
    ///
    /// # Errors
    ///
    /// Where the table of games is missing or unreadable.
    pub fn of(dataset: &Dataset) -> Result<Split, AskError> {
        let parts = dataset.parts(Table::Games)?;
        let read: Vec<(Vec<Placed>, Counts)> =
            parts.par_iter().map(placed).collect::<Result<_, _>>()?;
        let mut of_moves: FxHashMap<u64, [bool; 2]> = FxHashMap::default();
        for placed in read.iter().flat_map(|part| &part.0) {
            of_moves.entry(placed.moves).or_default()[placed.half as usize] = true;
        }
        let mut split = Split::default();
        for (part, (games, counts)) in parts.iter().zip(read) {
            split.counts.games += counts.games;
            split.counts.players_apart += counts.players_apart;
            split.counts.unnamed += counts.unnamed;
            for game in games {
                if of_moves.get(&game.moves) == Some(&[true, true]) {
                    split.counts.moves_in_both += 1;
                    continue;
                }
                match game.half {
                    Half::Search => split.counts.search += 1,
                    Half::Locked => split.counts.locked += 1,
                }
                let halves = &mut split.halves[game.half as usize];
                halves
                    .entry(part.id().clone())
                    .or_default()
                    .insert(game.game);
            }
        }
        Ok(split)
    }

    /// The games of a part that stand in a half.
    pub fn games(&self, half: Half, part: &PartId) -> Option<&FxHashSet<u32>> {
        self.halves[half as usize].get(part)
    }
}

/// The games of a part that their players place.
fn placed(games: &Part) -> Result<(Vec<Placed>, Counts), AskError> {
    let (mut found, mut counts) = (Vec::new(), Counts::default());
    for group in games.groups()? {
        for rows in games.read(&["game", "moves_id", "white", "black"], group)? {
            let rows = rows?;
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
                    (Some(white), Some(black)) if white == black => found.push(Placed {
                        game: number,
                        moves: moves.at(row),
                        half: white,
                    }),
                    (Some(_), Some(_)) => counts.players_apart += 1,
                    _ => counts.unnamed += 1,
                }
            }
        }
    }
    Ok((found, counts))
}
