//! What a game shows of restraint, for the order of a lesson and its choice of games.

use hobble_terms::By;
use hobble_tracks::spell::End;
use shakmaty::Role;

use crate::follow::Followed;
use crate::lines::{is_shut_out, restraints};

/// Something a game can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Theme {
    /// A pawn's move restrained a piece.
    ByPawn,
    /// One move restrained two pieces or more.
    TwoAtOnce,
    /// A piece was shut out.
    ShutOut,
    /// The owner's own move freed a restrained piece.
    BrokenOut,
}

impl Theme {
    /// All themes.
    pub const ALL: [Theme; 4] = [
        Theme::ByPawn,
        Theme::TwoAtOnce,
        Theme::ShutOut,
        Theme::BrokenOut,
    ];

    /// What it is called.
    pub const fn name(self) -> &'static str {
        match self {
            Theme::ByPawn => "restrained by a pawn",
            Theme::TwoAtOnce => "two pieces at once",
            Theme::ShutOut => "shut out",
            Theme::BrokenOut => "broken out",
        }
    }

    /// Its name in addresses: ASCII letters and hyphens.
    pub const fn key(self) -> &'static str {
        match self {
            Theme::ByPawn => "pawn",
            Theme::TwoAtOnce => "two",
            Theme::ShutOut => "shut-out",
            Theme::BrokenOut => "broken-out",
        }
    }
}

/// How much restraint a game shows, and of what sort.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Show {
    /// Restraints: spells in which a piece is restrained at k.
    pub restraints: usize,
    /// Turns at which a piece was restrained, added up over the pieces.
    pub turns: usize,
    /// The themes shown.
    pub themes: Vec<Theme>,
}

/// What a game shows at k.
pub fn show(game: &Followed, k: u8) -> Show {
    let restraints: Vec<_> = restraints(game, k)
        .into_iter()
        .map(|nth| &game.spells[nth])
        .collect();
    let causes: Vec<_> = restraints
        .iter()
        .filter_map(|spell| spell.cause.ply)
        .collect();
    let shows = |theme| match theme {
        Theme::ByPawn => causes.iter().any(|ply| ply.mover == Role::Pawn),
        Theme::TwoAtOnce => causes
            .iter()
            .enumerate()
            .any(|(nth, ply)| causes[nth + 1..].iter().any(|other| other.ply == ply.ply)),
        Theme::ShutOut => restraints.iter().any(|spell| is_shut_out(spell)),
        Theme::BrokenOut => restraints
            .iter()
            .any(|spell| matches!(spell.end, End::Freed { by: By::Own, .. })),
    };
    Show {
        restraints: restraints.len(),
        turns: restraints
            .iter()
            .map(|spell| usize::from(spell.turns))
            .sum(),
        themes: Theme::ALL
            .into_iter()
            .filter(|&theme| shows(theme))
            .collect(),
    }
}
