//! A piece at a turn of its owner, with all that is known of it and what became of it: a row
//! of the table `turns` (definitions, section 8).

use hobble_terms::{MAX_K, Phase};
use shakmaty::{Color, Role, Square};

use crate::spell::{Capture, Cause, CausePly};
use crate::surroundings::Surroundings;

/// Moves after which a turn's change of material is kept.
pub const MATERIAL_AFTER_TURN: [usize; 5] = [1, 3, 5, 10, 20];

/// A developed piece at a turn of its owner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TurnRow {
    /// Position of the turn.
    pub position: u16,
    /// Whether the turn is in the sample.
    pub sampled: bool,
    /// Whether a piece of the side is at its landmark.
    pub landmark: bool,
    /// The piece.
    pub slot: u8,
    /// Its kind.
    pub kind: Role,
    /// Its owner.
    pub color: Color,
    /// Where it stands.
    pub square: Square,
    /// Its safe squares.
    pub safe: u8,
    /// Good ones among them.
    pub good: u8,
    /// Its reach.
    pub reach: u8,
    /// Destinations of its legal moves.
    pub legal: u8,
    /// The piece at its owner's last turn.
    pub last: Option<Earlier>,
    /// The piece at the turn before that.
    pub before_last: Option<Earlier>,
    /// What stands around it.
    pub around: Surroundings,
    /// The spell at k = its safe squares; `None` where it has more than [`MAX_K`].
    pub held: Option<Held>,
    /// For each k, turns restrained so far, counted from the landmark, which is 1; 0 where it
    /// is not restrained at that k.
    pub restrained: [u16; MAX_K as usize + 1],
    /// The ply that restrained it last; `None` where it is restrained at no k.
    pub restrained_by: Option<CausePly>,
    /// Other developed pieces of its side with [`OTHERS_K`](hobble_terms::OTHERS_K) safe squares
    /// or fewer.
    pub others_held: u8,
    /// Other pieces of its side that are restrained at that k.
    pub others_restrained: u8,
    /// The game at the turn, for the piece's owner.
    pub setting: Setting,
    /// The piece's capture in the rest of the game, if any.
    pub capture: Option<Capture>,
    /// First later ply at which another piece of its side is lost.
    pub others_lost: Option<u16>,
}

/// The game at a turn, as the side on move sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Setting {
    /// Scope of the side on move.
    pub scope: u16,
    /// Scope of the other side, the turn passed.
    pub scope_opponent: u16,
    /// Material of the side on move less that of the other side, in pawns.
    pub balance: i16,
    /// Change of that balance in [`MATERIAL_AFTER_TURN`] moves; `None` where the game ended
    /// sooner.
    pub material: [Option<i16>; MATERIAL_AFTER_TURN.len()],
    /// Phase of the game.
    pub phase: Phase,
}

/// A piece at an earlier turn of its owner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Earlier {
    /// Its safe squares then.
    pub safe: u8,
    /// Whether it was attacked then.
    pub attacked: bool,
}

/// A spell that runs at a turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    /// Turns in the spell so far, this one included.
    pub turns: u16,
    /// What restricted the piece.
    pub cause: Cause,
}
