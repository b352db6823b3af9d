//! A claim that was found on one half of the games and asked once of the other half.
//!
//! The half is opened after the claim is fixed: its file carries the hash that it had before. What
//! decides the counts may not change afterwards, or the confirmation is void; title and text may.

use hobble_conditions::fields::shape::Shape;
use serde::de::Error as _;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value as Json, json};
use toml::de::{Error, ValueDeserializer};

/// Expected share of false ones among the claims called confirmed, at most.
pub const FALSE_SHARE: f64 = 0.05;

/// What the locked half of the games said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Confirmation {
    /// Hash of what decides the claim's counts, before its half was opened.
    pub hash: String,
    /// How often the half had been opened by then, this time included.
    pub opening: u32,
    /// Claims tried on the other half.
    pub tried: u64,
    /// Claims that were asked of this half.
    pub opened: u64,
    /// Games of this half.
    pub games: u64,
    /// Outcomes of the claim's pieces in it.
    pub events: u64,
    /// How many times as often as comparable free pieces.
    pub ratio: f64,
    /// Lower end of its 95% interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// p-value, adjusted for the claims asked (Benjamini and Hochberg).
    pub p: f64,
}

// Read from files, its figures are checked to be numbers.
impl Eq for Confirmation {}

impl Confirmation {
    /// Whether the half that was locked confirms it.
    pub fn holds(&self) -> bool {
        self.p <= FALSE_SHARE && self.low > 1.0
    }

    /// What is wrong with it, if anything.
    fn fault(&self) -> Option<&'static str> {
        let in_order = self.low <= self.ratio && self.ratio <= self.high;
        if self.hash.len() != 16 || !self.hash.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            Some("hash is not 16 hexadecimal digits")
        } else if !(in_order && self.low > 0.0 && self.high.is_finite()) {
            Some("low, ratio and high are not in order")
        } else if !(0.0..=1.0).contains(&self.p) {
            Some("p is not from 0 to 1")
        } else {
            None
        }
    }
}

/// The shape of a [`Confirmation`] in a file.
pub struct Stamped;

impl Shape for Stamped {
    type Value = Confirmation;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<Confirmation, Error> {
        let read = Confirmation::deserialize(value)?;
        match read.fault() {
            Some(what) => Err(Error::custom(what)),
            None => Ok(read),
        }
    }

    fn schema(&self) -> Map<String, Json> {
        let number = json!({"type": "number", "minimum": 0});
        let count = json!({"type": "integer", "minimum": 0});
        let schema = json!({
            "type": "object",
            "additionalProperties": false,
            "required": ["hash", "opening", "tried", "opened", "games", "events", "ratio", "low", "high", "p"],
            "properties": {
                "hash": {"type": "string", "pattern": "^[0-9a-f]{16}$"},
                "opening": count,
                "tried": count,
                "opened": count,
                "games": count,
                "events": count,
                "ratio": number,
                "low": number,
                "high": number,
                "p": {"type": "number", "minimum": 0, "maximum": 1},
            },
        });
        match schema {
            Json::Object(fields) => fields,
            _ => Map::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use hand_made_tables::{question, refused};

    use super::*;
    use crate::file::Claim;

    const STAMP: &str = "[confirmation]\nhash = \"0123456789abcdef\"\nopening = 1\ntried = 9\nopened = 2\ngames = 500\nevents = 40\nratio = 1.5\nlow = 1.2\nhigh = 1.9\np = 0.01\n";

    #[test]
    fn hash_is_of_what_decides_the_counts() {
        let plain: Claim = question("k = 1").unwrap();
        let stamped: Claim = question(&format!("k = 1\nquiz = 2\n{STAMP}")).unwrap();
        assert_eq!(plain.hash(), stamped.hash());
        let other: Claim = question("k = 2").unwrap();
        assert_ne!(plain.hash(), other.hash());
        assert!(stamped.confirmation.is_some_and(|found| found.holds()));
    }

    #[test]
    fn holds_where_adjusted_and_above_one() {
        let Some(found) = question::<Claim>(STAMP).unwrap().confirmation else {
            panic!("no confirmation");
        };
        assert!(
            !Confirmation {
                p: 0.051,
                ..found.clone()
            }
            .holds()
        );
        assert!(!Confirmation { low: 0.99, ..found }.holds());
    }

    #[test]
    fn invalid_stamps_are_refused() {
        let invalid = STAMP.replace("low = 1.2", "low = 1.7");
        refused::<Claim>(&[(
            &invalid,
            "5, field \"confirmation\": low, ratio and high are not in order",
        )]);
    }
}
