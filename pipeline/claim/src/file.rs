//! A claim, as a small TOML file states it.

use hobble_conditions::fields::Field;
use hobble_conditions::fields::shape::{Shape, number, one_of};
use hobble_conditions::filter_keys as keys;
use hobble_conditions::terms::{About, MovedBy, Outcome, YesNo};
use hobble_conditions::words;
use hobble_conditions::{AskError, Overrides};

hobble_conditions::question_file! {
    /// What is claimed.
    pub struct Claim(About::Claim, "A hobble training claim") {
        head,
        kinds: keys::Kinds,
        k: keys::SafeSquares,
        restrained: keys::Restrained,
        turns: keys::Turns,
        cause: keys::Causes,
        by: keys::Mover,
        quiet: keys::Quiet,
        squares_taken: keys::SquaresTaken,
        wedge: keys::Wedge,
        stands: keys::Stands,
        squares: keys::OnSquares,
        phase: keys::Phases,
        attacked: keys::Attacked,
        defended: keys::Defended,
        defenders: keys::Defenders,
        defended_by: keys::DefendedBy,
        others_held: keys::OthersHeld,
        others_restrained: keys::OthersRestrained,
        good: keys::GoodSquares,
        developed: keys::Developed,
        band: keys::Bands,
        time_class: keys::TimeClasses,
        within: keys::Within,
        outcome: LostOrCaptured,
        quiz: Quiz,
    }
}

/// Fields that a claim's spells are read for at every value: its sensitivity is shown.
pub(crate) const VARIED: [&str; 2] = [keys::SafeSquares::NAME, keys::Turns::NAME];

/// What is counted.
pub enum LostOrCaptured {}

impl Field for LostOrCaptured {
    type Value = Outcome;
    const NAME: &'static str = "outcome";
    const TEXT: &'static str =
        "What is counted (definitions, section 7); captured is lost, traded or sold.";

    fn shape() -> impl Shape<Value = Outcome> {
        one_of(&[Outcome::Lost, Outcome::Captured])
    }

    fn default() -> Outcome {
        Outcome::Lost
    }
}

/// Quiz positions for the handout.
pub enum Quiz {}

impl Field for Quiz {
    type Value = usize;
    const NAME: &'static str = "quiz";
    const TEXT: &'static str = "Quiz positions in the handout, at most.";

    fn shape() -> impl Shape<Value = usize> {
        number(0..=12)
    }

    fn default() -> usize {
        6
    }
}

impl Claim {
    /// The claim with what is given beside it.
    ///
    /// # Errors
    ///
    /// Where a value is out of range.
    pub fn with(&self, overrides: &Overrides) -> Result<Claim, AskError> {
        let mut claim = self.clone();
        overrides.put(&mut claim.k, &mut claim.within)?;
        claim.developed = overrides.developed.unwrap_or(claim.developed);
        claim.turns = claim.turns.max(claim.first_turn());
        Ok(claim)
    }

    /// The first turn of a spell that what follows may be counted from: the landmark of a
    /// restraint is its second.
    pub fn first_turn(&self) -> u32 {
        match self.restrained {
            YesNo::Yes => 2,
            YesNo::Any | YesNo::No => 1,
        }
    }

    /// Whether the claim is about restrained pieces, not about held ones in general.
    pub fn is_of_restrained(&self) -> bool {
        self.restrained == YesNo::Yes
    }

    /// What its pieces are: `restrained` or `held`.
    pub fn state(&self) -> &'static str {
        if self.is_of_restrained() {
            "restrained"
        } else {
            "held"
        }
    }

    /// The pieces in words: `knights held to 1 safe square or fewer by a pawn for at least 2
    /// turns`.
    pub fn in_words(&self) -> String {
        let kinds: Vec<String> = self.kinds.iter().map(|kind| format!("{kind}s")).collect();
        let named = std::iter::once(words::list(&kinds)).chain(self.after_kinds());
        let named: Vec<String> = named.collect();
        let mut words = format!("{} {} to ", named.join(" "), self.state());
        words.push_str(&match self.k {
            0 => "no safe square".to_owned(),
            1 => "one safe square at most".to_owned(),
            k => format!("{k} safe squares at most"),
        });
        match self.by {
            MovedBy::Any => {}
            MovedBy::Pawn => words.push_str(" by a pawn's move"),
            MovedBy::Piece => words.push_str(" by the move of a piece or king"),
        }
        if self.turns > self.first_turn() {
            words.push_str(&format!(
                " for at least {} of their owner's turns",
                self.turns
            ));
        }
        words
    }

    /// The filters in words, name and value.
    pub fn filters(&self) -> Vec<(String, String)> {
        let counted = format!("{} within {} moves", self.outcome, self.within);
        let first = [("Pieces", self.in_words()), ("Counted", counted)];
        let others = self.said().into_iter().map(|said| (said.name, said.words));
        first
            .into_iter()
            .chain(others)
            .map(|(name, words)| (name.to_owned(), words))
            .collect()
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
        let claim = parse("kinds = [\"rook\"]\nrestrained = \"yes\"").unwrap();
        let claim = claim.with(&Overrides::default()).unwrap();
        assert_eq!(claim.turns, 2);
        assert_eq!(
            claim.in_words(),
            "rooks restrained to 2 safe squares at most"
        );
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
}
