//! Kind, phase, time class and rating band of a row, from the words that name them.

use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, Phase, TimeClass};
use hobble_dataset::columns::{Read, Rows};

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

/// A number for a rating band: its lower bound, or one above all ratings.
pub fn band(word: &str) -> Option<u64> {
    match word {
        "unrated" => Some(100_000),
        "missing" => Some(100_001),
        bounds => bounds.split('-').next()?.parse().ok(),
    }
}
