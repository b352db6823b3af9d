//! Chances of the player's games that are kept one by one, to be looked at on boards.

use arrow_array::{BooleanArray, Int16Array};
use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_dataset::columns::{Numbers, Rows, Texts, short};
use hobble_terms::Phase;
use serde::{Deserialize, Serialize};

/// Columns they are read from, beside those that chances are counted by.
pub const COLUMNS: [&str; 7] = [
    "ply",
    "square",
    "safe",
    "best",
    "played_quiet",
    "fate_ply",
    "material_10",
];

/// Squares that a restraining move takes at least, for its chance to be shown.
const TAKEN: u8 = 2;

/// A piece got away where it was not captured within so many moves.
const MOVES: u64 = 10;

/// A chance of the player's that may be shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Missed {
    /// Number of the player's game.
    pub game: usize,
    /// Plies played before it.
    pub ply: u32,
    /// Kind of the opponent's piece.
    pub kind: Kind,
    /// Where it stands.
    pub square: String,
    /// Phase of the game.
    pub phase: Phase,
    /// Its safe squares.
    pub safe: u64,
    /// Fewest safe squares that a restraining move leaves it.
    pub best: u64,
    /// Change of the player's balance in the moves that follow, in pawns.
    pub material: Option<i64>,
}

/// A restraining move that the opponent played.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Restraining {
    /// Number of the player's game.
    pub game: usize,
    /// Plies played before it.
    pub ply: u32,
    /// Where the player's piece stands.
    pub square: String,
}

/// The columns of some rows.
pub struct ToShow<'a> {
    plies: &'a [u16],
    squares: Texts<'a>,
    safe: &'a [u8],
    best: &'a [u8],
    played_quiet: &'a BooleanArray,
    fate_ply: Numbers<'a>,
    material: &'a Int16Array,
}

impl<'a> ToShow<'a> {
    /// Of these rows.
    ///
    /// # Errors
    ///
    /// Where a column is missing.
    pub fn of(rows: &'a Rows) -> Result<ToShow<'a>, AskError> {
        Ok(ToShow {
            plies: rows.pairs("ply")?,
            squares: rows.texts("square")?,
            safe: rows.bytes("safe")?,
            best: rows.bytes("best")?,
            played_quiet: rows.booleans("played_quiet")?,
            fate_ply: rows.optional_numbers("fate_ply")?,
            material: rows.signed("material_10")?,
        })
    }

    /// The chance of a row that was not taken, if it may be shown. `game` is the number of the
    /// player's game.
    pub fn missed(&self, row: usize, game: usize, kind: Kind, phase: Phase) -> Option<Missed> {
        let last = u64::from(self.plies[row]) + 2 * MOVES;
        let got_away = self.fate_ply.get(row).is_none_or(|at| at > last);
        let takes = self.safe[row] >= self.best[row].saturating_add(TAKEN);
        let shown = self.played_quiet.value(row) && got_away && takes;
        shown.then(|| Missed {
            game,
            ply: self.plies[row].into(),
            kind,
            phase,
            square: self.square(row),
            safe: self.safe[row].into(),
            best: self.best[row].into(),
            material: short(self.material, row),
        })
    }

    /// The chance of a row that the player's opponent took.
    pub fn restraining(&self, row: usize, game: usize) -> Restraining {
        Restraining {
            game,
            ply: self.plies[row].into(),
            square: self.square(row),
        }
    }

    /// A square, or an invalid name where there is none, which readers refuse.
    fn square(&self, row: usize) -> String {
        self.squares.get(row).unwrap_or_default().to_owned()
    }
}
