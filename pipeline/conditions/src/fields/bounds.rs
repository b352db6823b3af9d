//! A field that bounds a number, as `{ at_least = 2 }`, `{ at_most = 1 }` or both.

use std::fmt;
use std::ops::RangeInclusive;

use serde::de::Error as _;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value as Json, json};
use toml::de::{Error, ValueDeserializer};

use super::shape::Shape;

/// Bounds of a number; at least one of them is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "bounds, as { at_least = 2 } or { at_most = 1 }"
)]
pub struct Bounds {
    /// The least number that passes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_least: Option<u8>,
    /// The greatest number that passes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_most: Option<u8>,
}

impl Bounds {
    /// Numbers from the one to the other pass.
    pub fn range(self) -> RangeInclusive<u64> {
        let (low, high) = (self.at_least, self.at_most);
        low.unwrap_or(0).into()..=high.map_or(u64::MAX, u64::from)
    }
}

impl fmt::Display for Bounds {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.at_least, self.at_most) {
            (Some(low), Some(high)) if low == high => write!(out, "{low}"),
            (Some(low), Some(high)) => write!(out, "from {low} to {high}"),
            (Some(low), None) => write!(out, "{low} at least"),
            (None, Some(high)) => write!(out, "{high} at most"),
            (None, None) => out.write_str("any number"),
        }
    }
}

/// Bounds that are numbers from 0 to this one.
pub struct BoundsUpTo(pub u8);

impl Shape for BoundsUpTo {
    type Value = Bounds;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<Bounds, Error> {
        let bounds = Bounds::deserialize(value)?;
        let (low, high) = (bounds.at_least, bounds.at_most);
        if low.is_none() && high.is_none() {
            return Err(Error::custom("name at_least, at_most or both"));
        }
        if let Some(wrong) = low.into_iter().chain(high).find(|bound| *bound > self.0) {
            let most = self.0;
            return Err(Error::custom(format!(
                "{wrong} is not a whole number from 0 to {most}"
            )));
        }
        if let (Some(low), Some(high)) = (low, high)
            && low > high
        {
            return Err(Error::custom(format!(
                "no number is at least {low} and at most {high}"
            )));
        }
        Ok(bounds)
    }

    fn schema(&self) -> Map<String, Json> {
        let bound = json!({"type": "integer", "minimum": 0, "maximum": self.0});
        let fields = [
            ("type", json!("object")),
            ("additionalProperties", json!(false)),
            ("minProperties", json!(1)),
            ("properties", json!({"at_least": bound, "at_most": bound})),
        ];
        fields
            .into_iter()
            .map(|(name, value)| (name.to_owned(), value))
            .collect()
    }
}
