//! The rules a game was played by.

use crate::words;

words! {
    /// The rules a game was played by.
    Variant {
        /// The usual ones.
        Standard = "standard",
        /// Those of Chess960.
        Chess960 = "chess960",
    }
}

impl Variant {
    /// Reads the value of a Variant tag; `None` for another game.
    pub fn from_tag(value: &[u8]) -> Option<Variant> {
        let plain: Vec<u8> = value
            .iter()
            .filter(|byte| byte.is_ascii_alphanumeric())
            .map(u8::to_ascii_lowercase)
            .collect();
        match plain.as_slice() {
            b"" | b"standard" | b"normal" | b"chess" | b"orthodox" | b"fromposition" => {
                Some(Variant::Standard)
            }
            b"chess960" | b"960" | b"fischerandom" | b"fischerrandom" | b"fischerandomchess"
            | b"freestyle" => Some(Variant::Chess960),
            _ => None,
        }
    }
}
