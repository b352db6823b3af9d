//! Openings by their ECO codes, by beginnings of these, or by name.

use std::str::FromStr;

use serde::Serialize;

/// Openings from one ECO code to another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Opening {
    /// First code, as `B20`.
    pub from: String,
    /// Last code, as `B99`.
    pub to: String,
}

impl Opening {
    /// Whether a game's ECO code is among them; what follows its three signs is passed over.
    pub fn holds(&self, code: &str) -> bool {
        let code = code.get(..3).unwrap_or(code);
        code.len() == 3 && (self.from.as_str()..=self.to.as_str()).contains(&code)
    }
}

/// Names of openings in small letters, with their codes (common practice, cited from memory).
const NAMES: [(&str, &str, &str); 26] = [
    ("alekhine", "B02", "B05"),
    ("benko", "A57", "A59"),
    ("benoni", "A60", "A79"),
    ("bogo-indian", "E11", "E11"),
    ("caro-kann", "B10", "B19"),
    ("catalan", "E00", "E09"),
    ("dutch", "A80", "A99"),
    ("english", "A10", "A39"),
    ("french", "C00", "C19"),
    ("grunfeld", "D70", "D99"),
    ("italian", "C50", "C59"),
    ("king's gambit", "C30", "C39"),
    ("king's indian", "E60", "E99"),
    ("nimzo-indian", "E20", "E59"),
    ("petroff", "C42", "C43"),
    ("philidor", "C41", "C41"),
    ("pirc", "B07", "B09"),
    ("queen's gambit", "D06", "D69"),
    ("queen's indian", "E12", "E19"),
    ("reti", "A04", "A09"),
    ("ruy lopez", "C60", "C99"),
    ("scandinavian", "B01", "B01"),
    ("scotch", "C44", "C45"),
    ("sicilian", "B20", "B99"),
    ("slav", "D10", "D19"),
    ("vienna", "C25", "C29"),
];

impl FromStr for Opening {
    type Err = String;

    /// An ECO code, its first sign or two, or a name.
    fn from_str(text: &str) -> Result<Opening, String> {
        let name = text.trim().to_lowercase();
        if let Some((_, from, to)) = NAMES.iter().find(|known| known.0 == name) {
            return Ok(Opening {
                from: (*from).to_owned(),
                to: (*to).to_owned(),
            });
        }
        let code = name.to_uppercase();
        let mut signs = code.bytes();
        let letter = signs
            .next()
            .is_some_and(|sign| (b'A'..=b'E').contains(&sign));
        if letter && code.len() <= 3 && signs.all(|sign| sign.is_ascii_digit()) {
            return Ok(Opening {
                from: format!("{code:0<3}"),
                to: format!("{code:9<3}"),
            });
        }
        let names: Vec<&str> = NAMES.iter().map(|known| known.0).collect();
        Err(format!(
            "an opening is given by its ECO code, the beginning of one, as B9, or one of {}",
            names.join(", ")
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_beginnings_and_names() {
        let opening = |text: &str| text.parse::<Opening>().unwrap();
        assert!(opening("b9").holds("B90") && opening("B9").holds("B99"));
        assert!(!opening("B9").holds("B89") && !opening("B9").holds("C00"));
        assert!(opening("C").holds("C42") && opening("C42").holds("C42/03"));
        assert!(opening("Sicilian").holds("B33") && !opening("Sicilian").holds("B19"));
        assert!(!opening("C").holds("") && !opening("C").holds("C4"));
        for wrong in ["", "F1", "B999", "B9x", "Sicilia"] {
            assert!(wrong.parse::<Opening>().is_err(), "{wrong}");
        }
    }
}
