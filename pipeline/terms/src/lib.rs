//! The vocabulary that every other crate of hobble speaks, each term once.
//!
//! A term has one spelling: in the tables, in question files and in answers.
//!
//! ```
//! use hobble_terms::{Fate, Phase, Rating, TimeClass};
//!
//! assert_eq!(Phase::at(4, 62).name(), "opening");
//! assert_eq!(Rating::Points(1512).band(200).name(200), "1400-1599");
//! assert_eq!(TimeClass::from_name("blitz"), Some(TimeClass::Blitz));
//! assert_eq!(Fate::Lost.name(), "lost");
//! ```
//!
//! - [`kind`]: kinds of unit and their values;
//! - [`phase`]: phase of the game;
//! - [`rating`]: ratings, rating bands, rating differences;
//! - [`time_class`]: time classes;
//! - [`restriction`]: causes and ends of spells, fates, horizons;
//! - [`fold`]: the groups of games that the jackknife leaves out;
//! - [`names`]: the words of a player's name;
//! - [`result`]: results of games, as PGN spells them;
//! - [`variant`], [`start`]: rules of play, and which start positions are accepted;
//! - [`skip`]: why a game is skipped;
//! - [`table`]: the tables of a dataset and where their files are;
//! - [`account`], [`manifest`]: what was read, and the file that says so;
//! - [`number`]: whole numbers in words;
//! - [`leb128`]: whole numbers in few bytes.

pub mod account;
pub mod fold;
pub mod kind;
pub mod leb128;
pub mod manifest;
pub mod names;
pub mod number;
pub mod phase;
pub mod rating;
pub mod restriction;
pub mod result;
pub mod skip;
pub mod start;
pub mod table;
pub mod time_class;
pub mod variant;
mod words;

pub use fold::FOLDS;
pub use kind::{Kind, UNIT_NAMES, unit_code, value};
pub use phase::Phase;
pub use rating::{Band, Rating, RatingDiff};
pub use restriction::{
    By, CauseKind, Fate, HORIZONS, MAX_K, OTHERS_K, Outcome, PLIES_TO_LANDMARK, SpellEnd,
    landmark_k,
};
pub use result::GameResult;
pub use skip::Reason;
pub use table::Table;
pub use time_class::{TimeClass, TimeControl, TimeCuts};
pub use variant::Variant;
pub use words::Word;

/// Version of the definitions (`schemas/definitions.md`); every table carries it.
pub const DEFINITIONS: u32 = 3;
