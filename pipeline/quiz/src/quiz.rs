//! A quiz, as plain data.

use hobble_examples::MoveReference;
use hobble_examples::task::Task;
use hobble_terms::{Fate, Phase};
use serde::Serialize;

use crate::difficulty::Difficulty;
use crate::wanted::Wanted;

/// Version of the shape of [`Quiz`].
pub const FORMAT: u32 = 1;

/// A quiz.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Quiz {
    /// Version of this shape: [`FORMAT`].
    pub format: u32,
    /// Version of the program.
    pub hobble: String,
    /// Version of the definitions the tables were made with.
    pub definitions: u32,
    /// What was wanted.
    pub wanted: Wanted,
    /// Turns of the table with one restraining move, and those among them that were wanted,
    /// whatever their difficulty.
    pub turns: u64,
    /// Those wanted.
    pub passing: u64,
    /// Most points of an easy position, and of a medium one.
    pub cuts: [u32; 2],
    /// The rules in full sentences: what is asked, how difficulty is rated, how positions are chosen.
    pub rules: Vec<String>,
    /// The positions, the easiest first.
    pub positions: Vec<Position>,
    /// Notes, in full sentences.
    pub notes: Vec<String>,
}

/// A position of a quiz.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Position {
    /// What is asked, the answer and the near misses.
    #[serde(flatten)]
    pub task: Task,
    /// Safe squares that the piece may have at most to count as restrained.
    pub k: u8,
    /// Plies played before.
    pub ply: u32,
    /// Phase of the game.
    pub phase: Phase,
    /// How hard it is.
    pub difficulty: Difficulty,
    /// Squares that the answer takes.
    pub taken: Vec<String>,
    /// The move played.
    pub played: MoveReference,
    /// Safe squares of the piece after the move played; `null` where it captured the piece.
    pub left: Option<u8>,
    /// The line played, as `15. g4 Nd7 16. h4`.
    pub line: String,
    /// What became of the piece.
    pub fate: Fate,
    /// The move that captured it; `null` where none did.
    pub captured: Option<MoveReference>,
    /// Moves from the position to that move, or to the end of the game.
    pub moves_later: u32,
}
