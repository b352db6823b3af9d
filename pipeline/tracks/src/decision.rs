//! A chance to restrain at a sampled turn, what was played, and what came of it: a row of the
//! table `decisions` (definitions, section 8).

use shakmaty::{Color, Role};

use crate::chances::Chance;
use crate::spell::Capture;
use crate::surroundings::Surroundings;
use crate::turn::{Earlier, Setting};

/// A chance to restrain a piece of the other side, at a turn of the side on move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DecisionRow {
    /// Position of the turn.
    pub position: u16,
    /// The side on move.
    pub color: Color,
    /// The piece that could be restrained; it is of the other side.
    pub slot: u8,
    /// The chance: where the piece stands, and the moves that restrain it.
    pub chance: Chance,
    /// The piece at its owner's last turn.
    pub last: Option<Earlier>,
    /// What stands around it.
    pub around: Surroundings,
    /// Other developed pieces of its side with [`OTHERS_K`](hobble_terms::OTHERS_K) safe squares
    /// or fewer.
    pub others_held: u8,
    /// Legal moves of the side on move.
    pub legal: u8,
    /// Those of them that are quiet and give nothing away.
    pub quiet: u8,
    /// The move played.
    pub played: Played,
    /// The game at the turn, for the side on move.
    pub setting: Setting,
    /// The piece's capture in the rest of the game, if any.
    pub capture: Option<Capture>,
    /// First later ply at which another piece of its side is lost.
    pub others_lost: Option<u16>,
}

/// The move played at a turn, as it concerns a piece of the other side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Played {
    /// Kind of unit that moved.
    pub mover: Role,
    /// Whether the move is quiet and gives nothing away.
    pub quiet: bool,
    /// Safe squares it left the piece; `None` where it captured it.
    pub left: Option<u8>,
    /// Whether the piece is attacked after it.
    pub attacks: bool,
    /// Whether it restrained the piece.
    pub restrains: bool,
}
