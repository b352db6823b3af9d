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

pub use find::{Found, find};
pub use game_key::{GameKey, LONG_GAME};
pub use known::Known;
pub use list::{ListError, RepeatsList};
pub use register::{Original, Register};
pub use turnstile::Turnstile;
