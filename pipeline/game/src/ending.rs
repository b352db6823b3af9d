//! How the last position of a game stands.

use shakmaty::{Chess, Position};

/// How a position stands by the rules alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Ending {
    /// Checkmate.
    Checkmate = 0,
    /// Stalemate.
    Stalemate = 1,
    /// Neither side can mate.
    Dead = 2,
    /// None of these.
    Open = 3,
}

impl Ending {
    /// All endings.
    pub const ALL: [Ending; 4] = [
        Ending::Checkmate,
        Ending::Stalemate,
        Ending::Dead,
        Ending::Open,
    ];

    /// Ending of a last position.
    pub fn of(position: &Chess) -> Ending {
        if position.is_checkmate() {
            Ending::Checkmate
        } else if position.is_stalemate() {
            Ending::Stalemate
        } else if position.is_insufficient_material() {
            Ending::Dead
        } else {
            Ending::Open
        }
    }

    /// Name in the tables.
    pub const fn name(self) -> &'static str {
        match self {
            Ending::Checkmate => "checkmate",
            Ending::Stalemate => "stalemate",
            Ending::Dead => "dead",
            Ending::Open => "open",
        }
    }
}
