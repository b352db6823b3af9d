//! Which sides of which games are counted.

use std::collections::{BTreeSet, HashMap};

use crate::names;
use crate::openings::Opening;
use hobble_conditions::AskError;
use hobble_dataset::columns::{Numbers, Read, Rows, Texts};
use serde::{Deserialize, Serialize};

/// What must be equal for a peer's side to be compared with a side of the player's.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Stratum {
    /// Rating band of the side.
    pub band: String,
    /// Time class of the game.
    pub time_class: String,
}

/// A stratum, further parted by what answers are grouped by.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Cell {
    /// What is compared.
    pub stratum: Stratum,
    /// Whether the side is White's.
    pub white: bool,
    /// The group of openings it belongs to, by its place among the groups.
    pub opening: Option<usize>,
}

/// Columns a batch is read from.
pub const COLUMNS: [&str; 10] = [
    "game",
    "game_id",
    "white",
    "black",
    "white_band",
    "black_band",
    "time_class",
    "eco",
    "date",
    "start_fen",
];

/// A batch of the table of games.
pub struct Games<'a> {
    /// Number of the game.
    pub game: Numbers<'a>,
    /// Its id.
    pub id: Numbers<'a>,
    /// White and Black.
    pub names: [Texts<'a>; 2],
    /// Their bands.
    pub bands: [Texts<'a>; 2],
    /// Time class.
    pub class: Texts<'a>,
    /// Opening by its code.
    pub eco: Read<'a, Option<Opening>>,
    /// Date tag.
    pub date: Texts<'a>,
    /// Start position, where not the usual one.
    pub start_fen: Texts<'a>,
}

impl<'a> Games<'a> {
    /// Of these rows.
    pub fn of(rows: &'a Rows) -> Result<Games<'a>, AskError> {
        let texts = |name: &str| rows.texts(name);
        Ok(Games {
            game: rows.numbers("game")?,
            id: rows.numbers("game_id")?,
            names: [texts("white")?, texts("black")?],
            bands: [texts("white_band")?, texts("black_band")?],
            class: texts("time_class")?,
            eco: texts("eco")?.read_as(|eco| Opening::of_eco(eco?)),
            date: texts("date")?,
            start_fen: texts("start_fen")?,
        })
    }

    /// Which rows have the player as White, and as Black.
    pub fn owns(&self, known: &mut Known<'_>) -> [Read<'a, bool>; 2] {
        self.names
            .map(|names| names.read_as(|name| known.is_own(name)))
    }

    /// The cell of a side, whatever its opening.
    pub fn cell(&self, row: usize, side: usize) -> Cell {
        let text = |column: &Texts<'_>| column.get(row).unwrap_or_default().to_owned();
        Cell {
            stratum: Stratum {
                band: text(&self.bands[side]),
                time_class: text(&self.class),
            },
            white: side == 0,
            opening: None,
        }
    }
}

/// By what a player's name is known.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub enum Whose {
    /// By its keys.
    Keys(BTreeSet<String>),
    /// By its spellings, where all that occur are known already.
    Spellings(BTreeSet<String>),
}

/// Which names are the player's. Keys are worked out once for each spelling.
pub struct Known<'a> {
    whose: &'a Whose,
    seen: HashMap<String, bool>,
}

impl Known<'_> {
    /// Those of a player.
    pub fn of(whose: &Whose) -> Known<'_> {
        Known {
            whose,
            seen: HashMap::new(),
        }
    }

    fn is_own(&mut self, name: Option<&str>) -> bool {
        let Some(name) = name else { return false };
        let keys = match self.whose {
            Whose::Spellings(spellings) => return spellings.contains(name),
            Whose::Keys(keys) => keys,
        };
        if let Some(own) = self.seen.get(name) {
            return *own;
        }
        let own = keys.contains(&names::key(name));
        self.seen.insert(name.to_owned(), own);
        own
    }
}

/// Sides of one part by game number: of neither, the player's, or a peer's in some cell and
/// fold.
#[derive(Debug, Default)]
pub struct Places {
    /// The number of the first game.
    first: usize,
    /// White's and Black's side of each game from there on.
    sides: Vec<[u32; 2]>,
}

/// A side that is not counted.
pub const NOT_COUNTED: u32 = u32::MAX;
/// Sides from here on are the player's: so many less is the number of the game.
pub const OWN: u32 = 1 << 31;

/// The number of the player's game that a side stands for, if it is the player's.
pub fn own_game(side: u32) -> Option<usize> {
    (side >= OWN && side != NOT_COUNTED).then(|| (side - OWN) as usize)
}

impl Places {
    /// The sides of a game.
    pub fn of(&self, game: u64) -> [u32; 2] {
        let place = |game: usize| self.sides.get(game.checked_sub(self.first)?);
        let sides = usize::try_from(game).ok().and_then(place);
        sides.copied().unwrap_or([NOT_COUNTED; 2])
    }

    /// Says what a side of a game is. Games come in any order; rising numbers are quick.
    pub fn set(&mut self, game: u64, side: usize, what: u32) {
        let Ok(game) = usize::try_from(game) else {
            return;
        };
        if self.sides.is_empty() {
            self.first = game;
        }
        if game < self.first {
            let before = std::iter::repeat_n([NOT_COUNTED; 2], self.first - game);
            self.sides.splice(0..0, before);
            self.first = game;
        }
        let place = game - self.first;
        if self.sides.len() <= place {
            self.sides.resize(place + 1, [NOT_COUNTED; 2]);
        }
        self.sides[place][side] = what;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_of_games_in_any_order() {
        let mut places = Places::default();
        for (game, side, what) in [(900, 0, OWN), (905, 1, 7), (898, 1, OWN + 3)] {
            places.set(game, side, what);
        }
        assert_eq!(places.of(900), [OWN, NOT_COUNTED]);
        assert_eq!(places.of(905), [NOT_COUNTED, 7]);
        assert_eq!(places.of(898), [NOT_COUNTED, OWN + 3]);
        for game in [0, 897, 899, 906, u64::MAX] {
            assert_eq!(places.of(game), [NOT_COUNTED; 2], "{game}");
        }
    }
}
