//! A field that names a day, a month or a year, as `2024.05.17`, `2024.05` or `2024`.

use serde::Deserializer as _;
use serde_json::{Map, Value as Json, json};
use toml::de::{Error, ValueDeserializer};

use super::shape::{Shape, Text, object};

/// A date as PGN writes it, from the year on; parts may be joined by `-` as well.
pub struct Date;

impl Shape for Date {
    type Value = String;

    fn read(&self, value: ValueDeserializer<'_>) -> Result<String, Error> {
        value.deserialize_any(Text(|text: &str| {
            read(text).ok_or_else(|| {
                format!("\"{text}\" is not a date, as \"2024.05.17\", \"2024.05\" or \"2024\"")
            })
        }))
    }

    fn schema(&self) -> Map<String, Json> {
        let pattern = r"^[0-9]{4}([.-](0[1-9]|1[0-2])([.-](0[1-9]|[12][0-9]|3[01]))?)?$";
        object(json!({"type": "string", "pattern": pattern}))
    }
}

fn read(text: &str) -> Option<String> {
    let parts: Vec<&str> = text.split(['.', '-']).collect();
    let limits = [(4, 0..=9999), (2, 1..=12), (2, 1..=31)];
    let is_part = |(part, (digits, limits)): (&&str, (usize, std::ops::RangeInclusive<u32>))| {
        let number = part
            .parse()
            .ok()
            .filter(|_| part.bytes().all(|byte| byte.is_ascii_digit()));
        part.len() == digits && number.is_some_and(|number| limits.contains(&number))
    };
    let valid = parts.len() <= limits.len() && parts.iter().zip(limits).all(is_part);
    valid.then(|| parts.join("."))
}

#[cfg(test)]
mod tests {
    use super::read;

    #[test]
    fn dates() {
        for (text, want) in [
            ("2024", Some("2024")),
            ("2024.05", Some("2024.05")),
            ("2024-05-17", Some("2024.05.17")),
            ("2024.13", None),
            ("2024.00", None),
            ("2024.05.32", None),
            ("2024.5", None),
            ("24", None),
            ("2024.05.17.1", None),
            ("+024", None),
            ("", None),
        ] {
            assert_eq!(read(text).as_deref(), want, "{text}");
        }
    }
}
