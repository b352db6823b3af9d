//! The positions found, as plain data.
//!
//! Field names are stable: they are the keys of the JSON and the names of the columns.

use hobble_conditions::QuestionText;
use hobble_dataset::DatasetSummary;
use hobble_examples::{GameReference, MoveReference};
use hobble_report::Stretch;
use hobble_terms::{CauseKind, Fate, Kind, Phase, SpellEnd};
use serde::Serialize;

use crate::file::PositionSearch;

/// A search and what it found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PositionsAnswer {
    /// Version of this shape: [`FORMAT`](crate::FORMAT).
    pub format: u32,
    /// `positions`.
    pub about: &'static str,
    /// Version of the program that answered.
    pub hobble: String,
    /// Version of the definitions the tables were made with.
    pub definitions: u32,
    /// The search's own words.
    pub question: QuestionText,
    /// What was asked for.
    pub search: PositionSearch,
    /// What the tables were made from.
    pub dataset: DatasetSummary,
    /// Positions that meet the conditions.
    pub found: u64,
    /// The first of them, in the order asked for.
    pub positions: Vec<Position>,
    /// Cautions, in full sentences.
    pub notes: Vec<String>,
}

/// The position at which a piece came to be restricted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Position {
    /// The game.
    pub game: GameReference,
    /// FEN of the game's start, where it is not the usual one.
    pub start_fen: Option<String>,
    /// The game's moves in SAN.
    pub moves: Vec<String>,
    /// Plies played before the position.
    pub ply: u32,
    /// What restricted the piece.
    pub cause: CauseKind,
    /// The move that did; none where the piece was so from the start of the record.
    pub began_by: Option<MoveReference>,
    /// Kind of the piece.
    pub kind: Kind,
    /// Its owner: `white` or `black`.
    pub color: String,
    /// Where it stands.
    pub square: String,
    /// Its safe squares here, sorted a1, b1 … h8.
    pub safe: Vec<String>,
    /// Those that the move before took from it.
    pub taken: Vec<String>,
    /// Turns of its owner that the spell lasted.
    pub turns: u32,
    /// Phase of the game.
    pub phase: Phase,
    /// How the spell ended.
    pub ended: SpellEnd,
    /// The move that ended it; none where the game ended first.
    pub ended_by: Option<MoveReference>,
    /// What became of the piece in the end.
    pub fate: Fate,
    /// FEN of the position.
    pub fen: String,
    /// The piece followed from some plies before the position to the end of its spell.
    pub stretch: Option<Stretch>,
}
