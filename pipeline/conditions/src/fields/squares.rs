//! A field that lists squares, as `["a4", "h4"]`.

use serde_json::{Map, Value as Json, json};
use shakmaty::{Bitboard, Square};
use toml::de::{Error, ValueDeserializer};

use super::shape::{List, Shape, object};
use serde::Deserializer as _;

/// A list of different squares, in the order of the board: a1, b1 … h8.
pub struct Squares;

impl Shape for Squares {
    type Value = Vec<String>;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<Vec<String>, Error> {
        let squares = value.deserialize_any(List(|text: &str| {
            let square: Result<Square, _> = text.parse();
            square.map_err(|_| format!("invalid square \"{text}\"; squares are a1 to h8"))
        }))?;
        let squares: Bitboard = squares.into_iter().collect();
        Ok(squares
            .into_iter()
            .map(|square| square.to_string())
            .collect())
    }

    fn schema(&self) -> Map<String, Json> {
        let items = json!({"type": "string", "pattern": "^[a-h][1-8]$"});
        object(json!({"type": "array", "uniqueItems": true, "items": items}))
    }
}
