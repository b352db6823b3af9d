//! A claim, as a small TOML file states it. Fields, defaults and limits are described in
//! `schemas/claim.schema.json`; a test holds the two together.

use serde::Serialize;

use crate::error::AskError;
use crate::fields::{self, sorted};
use crate::question::Overrides;
use crate::terms::{About, Kind, MAX_K, Outcome, Phase, TimeClass, WITHIN, YesNo};

/// Most turns a claim may ask a spell to have lasted.
pub const MAX_TURNS: i64 = 50;

/// Most quiz positions a claim may ask for.
pub const MAX_QUIZ: i64 = 12;

/// Fields of a claim file beside those every question file has.
const OWN: [&str; 14] = [
    "kinds",
    "k",
    "turns",
    "cause",
    "by",
    "phase",
    "attacked",
    "good",
    "developed",
    "band",
    "time_class",
    "within",
    "outcome",
    "quiz",
];

/// What can have restricted a piece (definitions, section 6).
pub const CAUSES: [&str; 5] = ["undeveloped", "taken", "blocked", "entered", "pinned"];

/// What is claimed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Claim {
    /// Name it is asked by: the file's name without `.toml`.
    pub name: String,
    /// Title for readers.
    pub title: String,
    /// Text for readers; paragraphs parted by an empty line.
    pub text: String,
    /// Kinds of piece.
    pub kinds: Vec<Kind>,
    /// Safe squares, at most.
    pub k: u8,
    /// Turns of its owner a piece must have been held for, at least.
    pub turns: u32,
    /// What restricted it; empty for anything.
    pub cause: Vec<String>,
    /// Kind of unit whose move did it: `any`, `pawn` or `piece` (king and pieces).
    pub by: By,
    /// Phases at the start of the spell; empty for all.
    pub phase: Vec<String>,
    /// Attacked by an enemy unit at the start.
    pub attacked: YesNo,
    /// Good squares at the start, at most; `None` for any number.
    pub good: Option<u8>,
    /// Whether it had moved by then.
    pub developed: YesNo,
    /// Owner's rating bands; empty for all.
    pub band: Vec<String>,
    /// Time classes; empty for all.
    pub time_class: Vec<String>,
    /// Horizon in moves from the turn that counts as the start.
    pub within: u32,
    /// What is counted: lost or captured.
    pub outcome: Outcome,
    /// Quiz positions for the handout.
    pub quiz: usize,
}

/// Whose move restricts, by the kind of unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum By {
    /// No matter which.
    Any,
    /// A pawn.
    Pawn,
    /// Anything but a pawn.
    Piece,
}

impl By {
    const ALL: [By; 3] = [By::Any, By::Pawn, By::Piece];

    fn name(self) -> &'static str {
        match self {
            By::Any => "any",
            By::Pawn => "pawn",
            By::Piece => "piece",
        }
    }

    fn from_name(word: &str) -> Option<By> {
        By::ALL.into_iter().find(|by| by.name() == word)
    }
}

impl Claim {
    /// Reads a claim from the text of its file; `file` is named in errors.
    ///
    /// # Errors
    ///
    /// The first mistake in the file, with its line and field.
    pub fn parse(name: &str, file: &str, text: &str) -> Result<Claim, AskError> {
        fields::read(file, text, &OWN, |fields| {
            fields.about(About::Claim)?;
            let kinds = fields.words("kinds", &Kind::ALL, Kind::from_name, Kind::name)?;
            if kinds.as_ref().is_some_and(Vec::is_empty) {
                return Err(fields.at("kinds", "name at least one kind of piece".to_owned()));
            }
            let within = fields.integer("within", 1, 1000)?.unwrap_or(10);
            let within = u32::try_from(within)
                .ok()
                .filter(|moves| WITHIN.contains(moves))
                .ok_or_else(|| {
                    let known = WITHIN.map(|moves| moves.to_string()).join(", ");
                    fields.at("within", format!("{within} moves is not one of {known}"))
                })?;
            let turns = fields.integer("turns", 1, MAX_TURNS)?.unwrap_or(1);
            let outcomes = [Outcome::Lost, Outcome::Captured];
            let counted =
                |word: &str| Outcome::from_name(word).filter(|outcome| outcomes.contains(outcome));
            // Outcome's own reader knows two words more than a claim allows.
            let outcome =
                match fields.word("outcome", &outcomes, Outcome::from_name, Outcome::name)? {
                    None => Outcome::Lost,
                    Some(outcome) => counted(outcome.name()).ok_or_else(|| {
                        let what = format!("\"{outcome}\" is not one of lost, captured");
                        fields.at("outcome", what)
                    })?,
                };
            let cause = fields.list("cause", |word| {
                if CAUSES.contains(&word) {
                    Ok(word.to_owned())
                } else {
                    Err(format!("\"{word}\" is not one of {}", CAUSES.join(", ")))
                }
            })?;
            let good = fields.integer("good", 0, 64)?;
            Ok(Claim {
                name: name.to_owned(),
                title: fields.required_text("title")?,
                text: fields.required_text("text")?,
                kinds: sorted(kinds.unwrap_or_else(|| Kind::ALL.to_vec())),
                k: fields.small("k", 2, i64::from(MAX_K))?,
                turns: u32::try_from(turns).unwrap_or(1),
                cause: sorted(cause.unwrap_or_default()),
                by: fields
                    .word("by", &By::ALL, By::from_name, By::name)?
                    .unwrap_or(By::Any),
                phase: fields.filter("phase", &Phase::ALL, Phase::from_name, Phase::name)?,
                attacked: fields.yes_no("attacked")?,
                good: good.and_then(|good| u8::try_from(good).ok()),
                developed: fields.yes_no("developed")?,
                band: fields
                    .list("band", |text| {
                        (!text.is_empty()).then(|| text.to_owned()).ok_or_else(|| {
                            "a rating band is named by its bounds, as \"1400-1599\"".to_owned()
                        })
                    })?
                    .unwrap_or_default(),
                time_class: fields.filter(
                    "time_class",
                    &TimeClass::ALL,
                    TimeClass::from_name,
                    TimeClass::name,
                )?,
                within,
                outcome,
                quiz: fields.small("quiz", 6, MAX_QUIZ)?,
            })
        })
    }

    /// The claim with what is given beside it.
    ///
    /// # Errors
    ///
    /// Where a value is out of range.
    pub fn with(&self, overrides: &Overrides) -> Result<Claim, AskError> {
        let mut claim = self.clone();
        if let Some(k) = overrides.k {
            if k > MAX_K {
                return Err(AskError::Override {
                    name: "k",
                    what: format!("{k} is not a whole number from 0 to {MAX_K}"),
                });
            }
            claim.k = k;
        }
        if let Some(within) = overrides.within {
            if !WITHIN.contains(&within) {
                let known = WITHIN.map(|moves| moves.to_string()).join(", ");
                return Err(AskError::Override {
                    name: "within",
                    what: format!("{within} moves is not one of {known}"),
                });
            }
            claim.within = within;
        }
        if let Some(developed) = overrides.developed {
            claim.developed = developed;
        }
        Ok(claim)
    }

    /// The pieces in words: `knights held to 1 safe square or fewer by a pawn for at least 2
    /// turns`.
    pub fn in_words(&self) -> String {
        let kinds: Vec<String> = self.kinds.iter().map(|kind| format!("{kind}s")).collect();
        let mut words = format!("{} held to ", crate::words::list(&kinds));
        words.push_str(&match self.k {
            0 => "no safe square".to_owned(),
            1 => "one safe square at most".to_owned(),
            k => format!("{k} safe squares at most"),
        });
        match self.by {
            By::Any => {}
            By::Pawn => words.push_str(" by a pawn's move"),
            By::Piece => words.push_str(" by the move of a piece or king"),
        }
        if self.turns > 1 {
            words.push_str(&format!(
                " for at least {} of their owner's turns",
                self.turns
            ));
        }
        words
    }

    /// The filters in words, name and value.
    pub fn filters(&self) -> Vec<(String, String)> {
        let mut out = vec![
            ("Pieces".to_owned(), self.in_words()),
            (
                "Counted".to_owned(),
                format!("{} within {} moves", self.outcome, self.within),
            ),
        ];
        let mut say = |name: &str, text: String| out.push((name.to_owned(), text));
        if !self.cause.is_empty() {
            say("What did it", self.cause.join(" or "));
        }
        if !self.phase.is_empty() {
            say("Phase at the start", self.phase.join(" or "));
        }
        match self.attacked {
            YesNo::Any => {}
            YesNo::Yes => say("Attacked at the start", "yes".to_owned()),
            YesNo::No => say("Attacked at the start", "no".to_owned()),
        }
        if let Some(good) = self.good {
            say("Good squares at the start", format!("{good} at most"));
        }
        match self.developed {
            YesNo::Any => {}
            YesNo::Yes => say("Developed", "only pieces that have moved".to_owned()),
            YesNo::No => say("Developed", "only pieces that have not moved".to_owned()),
        }
        if !self.band.is_empty() {
            say("Owner's rating band", self.band.join(" or "));
        }
        if !self.time_class.is_empty() {
            say("Time class", self.time_class.join(" or "));
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(more: &str) -> Result<Claim, AskError> {
        let text = format!("format = 1\nabout = \"claim\"\ntitle = \"T\"\ntext = \"X\"\n{more}");
        Claim::parse("c", "c.toml", &text)
    }

    #[test]
    fn defaults_and_words() {
        let claim = parse("").unwrap();
        assert_eq!((claim.k, claim.turns, claim.within), (2, 1, 10));
        assert_eq!(claim.outcome, Outcome::Lost);
        let claim = parse("kinds = [\"knight\"]\nk = 1\nturns = 2\nby = \"pawn\"").unwrap();
        assert_eq!(
            claim.in_words(),
            "knights held to one safe square at most by a pawn's move for at least 2 of their owner's turns"
        );
    }

    #[test]
    fn mistakes_name_line_and_field() {
        for (more, want) in [
            (
                "k = 7",
                "c.toml, line 5, field \"k\": 7 is not a whole number from 0 to 4",
            ),
            (
                "turns = 0",
                "c.toml, line 5, field \"turns\": 0 is not a whole number from 1 to 50",
            ),
            (
                "outcome = \"sold\"",
                "c.toml, line 5, field \"outcome\": \"sold\" is not one of lost, captured",
            ),
            (
                "by = \"king\"",
                "c.toml, line 5, field \"by\": \"king\" is not one of any, pawn, piece",
            ),
            (
                "k = 1\ncause = [\"luck\"]",
                "c.toml, line 6, field \"cause\": \"luck\" is not one of undeveloped, taken, blocked, entered, pinned",
            ),
            (
                "within = 7",
                "c.toml, line 5, field \"within\": 7 moves is not one of 3, 5, 10, 15, 20",
            ),
        ] {
            assert_eq!(parse(more).unwrap_err().to_string(), want);
        }
        assert!(
            parse("strata = []")
                .unwrap_err()
                .to_string()
                .contains("there is no such field")
        );
    }

    /// The schema knows the same fields with the same limits.
    #[test]
    fn schema_and_reader_agree() {
        let schema: serde_json::Value =
            serde_json::from_str(include_str!("../../../../schemas/claim.schema.json")).unwrap();
        let mut listed: Vec<&str> = schema["properties"]
            .as_object()
            .unwrap()
            .keys()
            .map(String::as_str)
            .collect();
        let mut known: Vec<&str> = fields::COMMON.iter().chain(&OWN).copied().collect();
        listed.sort_unstable();
        known.sort_unstable();
        assert_eq!(listed, known);
        let limit = |field: &str, end: &str| schema["properties"][field][end].as_i64();
        assert_eq!(limit("k", "maximum"), Some(i64::from(MAX_K)));
        assert_eq!(limit("turns", "maximum"), Some(MAX_TURNS));
        assert_eq!(limit("quiz", "maximum"), Some(MAX_QUIZ));
    }
}
