//! What must be equal for a free turn to be comparable with a held one, packed in a number.

use crate::terms::{Kind, Phase, TimeClass};

/// Kind, developed, attacked, defended, phase, time class and rating band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stratum(u64);

/// What must be equal; the band as [`band`] numbers it.
pub struct Alike {
    pub kind: Kind,
    pub phase: Phase,
    pub time_class: TimeClass,
    pub band: u64,
    pub developed: bool,
    pub attacked: bool,
    pub defended: bool,
}

impl Stratum {
    pub fn of(alike: &Alike) -> Stratum {
        let (kind, phase) = (alike.kind as u64, alike.phase as u64);
        let class = alike.time_class as u64;
        let flags = [alike.developed, alike.attacked, alike.defended]
            .into_iter()
            .fold(0, |bits, flag| bits << 1 | u64::from(flag));
        Stratum(alike.band << 16 | kind << 12 | phase << 9 | class << 4 | flags)
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
