//! Games that repeat a game read before (definitions, section 11).
//!
//! A [`Register`] remembers a [`GameKey`] of every game kept. Games must be asked about in the order
//! of the archives; a [`Turnstile`] lets workers ask block by block in that order.
//!
//! Where archives are scanned apart, none of the scans sees all games. A first pass then writes the
//! keys of each archive to [`key_files`], [`find`] goes through them in the order of the archives,
//! and each scan is handed a [`RepeatsList`]. Two games can be repeats only where the [hashes] of
//! their keys are equal, so that keys can be dealt out by it and looked through apart.
//!
//! [hashes]: GameKey::hash

mod find;
mod game_key;
pub mod key_files;
mod known;
mod list;
mod register;
mod turnstile;

#[cfg(test)]
mod tests;

use crate::codebook::Variable;
use crate::description::NEVER;

pub use find::{Found, find};
pub use game_key::{GameKey, LONG_GAME};
pub use known::Known;
pub use list::{ListError, RepeatsList};
pub use register::{Original, Register};
pub use turnstile::Turnstile;

/// The columns of the files of keys and of the lists of repeats, for the codebook.
pub const VARIABLES: [Variable<'static>; 5] = [
    variable(
        "keys.parquet",
        "key",
        "binary",
        "Key of a game; rows in the order of the archive.",
    ),
    variable(
        "repeats.csv",
        "game",
        "count",
        "Number of a game in its archive.",
    ),
    variable(
        "repeats.csv",
        "key",
        "text",
        "Hash of its key, in hexadecimal.",
    ),
    variable(
        "repeats.csv",
        "original_source",
        "text",
        "Source of the game that it repeats.",
    ),
    variable(
        "repeats.csv",
        "original_game",
        "count",
        "Number of that game in its source.",
    ),
];

const fn variable(
    file: &'static str,
    name: &'static str,
    column_type: &'static str,
    text: &'static str,
) -> Variable<'static> {
    Variable {
        file,
        name,
        column_type,
        unit: "",
        null: NEVER,
        text,
    }
}
