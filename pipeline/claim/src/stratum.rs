//! What must be equal for a free turn to be comparable with a held one, packed in a number.

use serde::{Deserialize, Serialize};

use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, Phase, TimeClass};
use hobble_dataset::columns::{Read, Rows};

/// Kind, developed, attacked, defended, phase, time class and rating band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
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

/// The columns that name kind, phase, time class and band.
pub struct Words<'a> {
    rows: &'a Rows,
    kind: Read<'a, Option<Kind>>,
    phase: Read<'a, Option<Phase>>,
    time_class: Read<'a, Option<TimeClass>>,
    band: Read<'a, Option<u64>>,
}

impl<'a> Words<'a> {
    pub fn of(rows: &'a Rows) -> Result<Words<'a>, AskError> {
        Ok(Words {
            rows,
            kind: rows.texts("kind")?.read_as(|word| Kind::from_name(word?)),
            phase: rows.texts("phase")?.read_as(|word| Phase::from_name(word?)),
            time_class: rows
                .texts("time_class")?
                .read_as(|word| TimeClass::from_name(word?)),
            band: rows.texts("band")?.read_as(|word| band(word?)),
        })
    }

    /// What a row names.
    ///
    /// # Errors
    ///
    /// Where one of its words is unknown.
    pub fn at(&self, row: usize) -> Result<(Kind, Phase, TimeClass, u64), AskError> {
        let words = || {
            Some((
                self.kind.at(row)?,
                self.phase.at(row)?,
                self.time_class.at(row)?,
                self.band.at(row)?,
            ))
        };
        words().ok_or_else(|| {
            let place = self.rows.place(row);
            let what = format!("row {place} names an unknown kind, phase, band or time class");
            self.rows.bad(what).into()
        })
    }
}

/// A number for a rating band: its lower bound, or one above all ratings.
fn band(word: &str) -> Option<u64> {
    match word {
        "unrated" => Some(100_000),
        "missing" => Some(100_001),
        bounds => bounds.split('-').next()?.parse().ok(),
    }
}
