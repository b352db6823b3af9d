//! Games, moves and boards as an answer names them.

use hobble_report::Stretch;
use serde::{Deserialize, Serialize};

/// Where a game is found.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct GameReference {
    /// Source (its folder in every table).
    pub source: String,
    /// Number of the game in its source, from 1.
    pub number: u32,
    /// Stable game id, sixteen hexadecimal digits.
    pub game_id: String,
    /// Archive file.
    pub file: String,
    /// Line of the decompressed file at which the game starts.
    pub line: u64,
    /// Player of the white pieces; `null` where missing, as in the fields below.
    pub white: Option<String>,
    /// Player of the black pieces.
    pub black: Option<String>,
    /// White's rating.
    pub white_rating: Option<u16>,
    /// Black's rating.
    pub black_rating: Option<u16>,
    /// Event.
    pub event: Option<String>,
    /// Date as it stands, YYYY.MM.DD.
    pub date: Option<String>,
    /// Round.
    pub round: Option<String>,
    /// Result: `1-0`, `0-1`, `1/2-1/2` or `*`.
    pub result: String,
    /// The game in one line: players, event, round, date.
    pub label: String,
}

/// The boards of an example.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExampleBoard {
    /// FEN of the position before the move that took the squares.
    pub fen_before: String,
    /// FEN of the position after it: the start of the spell.
    pub fen_after: String,
    /// The move that took the squares.
    pub cause: MoveReference,
    /// The move that captured the piece.
    pub capture: MoveReference,
    /// Squares the piece could safely go to before, sorted a1, b1 … h8.
    pub safe_before: Vec<String>,
    /// Squares it can safely go to after.
    pub safe_after: Vec<String>,
    /// Those in `safe_before` and not in `safe_after`: the squares taken.
    pub taken: Vec<String>,
    /// The piece followed from some plies before that move to the end of its spell.
    pub stretch: Option<Stretch>,
}

/// A move in a game.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MoveReference {
    /// Ply, from 1.
    pub ply: u32,
    /// Move number and move, as `23...Bg4` or `24. hxg4`.
    pub label: String,
    /// The move alone in SAN, as `Bg4`.
    pub san: String,
    /// Square the mover left.
    pub from: String,
    /// Square it reached; for castling the king's.
    pub to: String,
}
