//! Kind, phase, time class and rating band of a row, from the words that name them.

use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, Phase, TimeClass};
use hobble_dataset::columns::{Read, Rows};
use hobble_terms::rating::Band;

/// The columns that name kind, phase, time class and band.
pub struct Words<'a> {
    rows: &'a Rows,
    kind: Read<'a, Option<Kind>>,
    phase: Read<'a, Option<Phase>>,
    time_class: Read<'a, Option<TimeClass>>,
    band: Read<'a, Option<u64>>,
}

impl<'a> Words<'a> {
    /// Those of a batch.
    ///
    /// # Errors
    ///
    /// Where a column is missing or not of its type.
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

/// The number of the band of the unrated, and of those whose rating is missing.
const UNRATED: u64 = 100_000;
const MISSING: u64 = 100_001;

/// The name of a rating band by its number.
pub fn band_name(number: u64, width: u16) -> String {
    let band = match number {
        UNRATED => Band::Unrated,
        MISSING => Band::Missing,
        low => Band::From(u16::try_from(low).unwrap_or(u16::MAX)),
    };
    band.name(width)
}

/// A number for a rating band: its lower bound, or one above all ratings.
pub fn band(word: &str) -> Option<u64> {
    match word {
        "unrated" => Some(UNRATED),
        "missing" => Some(MISSING),
        bounds => bounds.split('-').next()?.parse().ok(),
    }
}
