//! What must be equal for a free turn to be comparable with a held one, packed in a number.

use crate::terms::{Kind, Phase, TimeClass};

/// Kind, developed, attacked, defended, phase, time class and rating band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stratum(u64);

/// The words of a stratum as the tables spell them.
pub struct Words<'a> {
    pub kind: &'a str,
    pub phase: &'a str,
    pub time_class: &'a str,
    pub band: &'a str,
    pub developed: bool,
    pub attacked: bool,
    pub defended: bool,
}

impl Stratum {
    /// `None` where a word is none of the tables'.
    pub fn of(words: &Words<'_>) -> Option<Stratum> {
        let kind = Kind::from_word(words.kind)? as u64;
        let phase = Phase::from_word(words.phase)? as u64;
        let class = TimeClass::from_word(words.time_class)? as u64;
        let flags = [words.developed, words.attacked, words.defended]
            .into_iter()
            .fold(0, |bits, flag| bits << 1 | u64::from(flag));
        Some(Stratum(
            band(words.band)? << 16 | kind << 12 | phase << 9 | class << 4 | flags,
        ))
    }
}

/// A number for a rating band: its lower bound, or one above all ratings.
pub fn band(word: &str) -> Option<u64> {
    match word {
        "unrated" => Some(100_000),
        "missing" => Some(100_001),
        bounds => bounds.split('-').next()?.parse().ok(),
    }
}
