//! A claim, as a small TOML file states it.

use super::confirmation::{Confirmation, Stamped};
use super::outcome::ClaimOutcome;
use hobble_conditions::fields::shape::{Optional, number, word};
use hobble_conditions::filter_keys as keys;
use hobble_conditions::terms::{MovedBy, Outcome, YesNo};
use hobble_conditions::words;
use xxhash_rust::xxh3::xxh3_64;

hobble_conditions::question_file! {
    /// What is claimed.
    pub struct Claim("claim", "A hobble training claim") => Claim::at_landmark {
        head,
        keys of spells,
        within: keys::Within,
        outcome: Counted,
        quiz: Quiz,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        confirmation: Confirmed,
    }
}

/// A piece restrained for so many turns without a break is shut out.
const SHUT_OUT: u32 = 8;

hobble_conditions::fields! {
    /// What is counted: the piece lost or captured (definitions, section 7; captured is lost, traded
    /// or sold), another knight, bishop, rook or queen of its side lost, material lost (its owner two
    /// pawns worse or more), the score of its side, or the change of the evaluation. Material and
    /// evaluation are looked at after 10 moves where `within` names moves after which they are not
    /// kept.
    Counted("outcome"): ClaimOutcome = ClaimOutcome::Lost, in word();

    /// Quiz positions in the handout, at most.
    Quiz("quiz"): usize = 6, in number(0..=12);

    /// What `hobble sift` found on the half of the games that was locked when the claim was written.
    /// It is void where anything that decides the counts has changed since.
    Confirmed("confirmation"): Option<Confirmation> = None, in Optional(Stamped);
}

impl Claim {
    /// The claim as read, counting no sooner than at the landmark.
    fn at_landmark(self) -> Claim {
        Claim {
            turns: self.turns.max(self.first_turn()),
            ..self
        }
    }

    /// Hash of what decides the claim's counts, as 16 hexadecimal digits.
    pub fn hash(&self) -> String {
        let mut said = serde_json::to_value(self).unwrap_or_default();
        if let Some(fields) = said.as_object_mut() {
            fields.retain(|name, _| {
                !["name", "title", "text", "quiz", "confirmation"].contains(&name.as_str())
            });
        }
        format!("{:016x}", xxh3_64(said.to_string().as_bytes()))
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

    /// The kind of its pieces in the singular; `piece` where there are several.
    pub fn kind(&self) -> String {
        match self.kinds.as_slice() {
            [kind] => kind.to_string(),
            _ => "piece".to_owned(),
        }
    }

    /// What its pieces are: `restrained` or `held`.
    pub fn state(&self) -> &'static str {
        words::state(self.restrained)
    }

    /// What is counted of the piece itself; where the claim is about its side, its loss.
    pub fn of_piece(&self) -> Outcome {
        match self.outcome {
            ClaimOutcome::Captured => Outcome::Captured,
            _ => Outcome::Lost,
        }
    }

    /// The pieces in words: `knights held to 1 safe square or fewer by a pawn for at least 2
    /// turns`.
    pub fn in_words(&self) -> String {
        let kinds: Vec<String> = self.kinds.iter().map(|kind| format!("{kind}s")).collect();
        let by = match self.by {
            MovedBy::Any => "",
            MovedBy::Pawn => " by a pawn's move",
            MovedBy::Piece => " by the move of a piece or king",
        };
        let squares = match self.k {
            0 => "no safe square".to_owned(),
            1 => "one safe square at most".to_owned(),
            k => format!("{k} safe squares at most"),
        };
        let kinds = words::list(&kinds);
        if self.is_of_restrained() && self.turns >= SHUT_OUT {
            let named = [vec![kinds, "shut out".to_owned()], self.after_kinds()].concat();
            let turns = self.turns;
            return format!(
                "{}{by} ({squares} for {turns} turns or more)",
                named.join(" ")
            );
        }
        let named: Vec<String> = std::iter::once(kinds).chain(self.after_kinds()).collect();
        let mut words = format!("{} {} to {squares}{by}", named.join(" "), self.state());
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
        let counted = match self.outcome {
            ClaimOutcome::Score => "what its side scored in the game".to_owned(),
            ClaimOutcome::Evaluation => {
                format!("how the evaluation changes in {} moves", self.within)
            }
            outcome => format!("{outcome} within {} moves", self.within),
        };
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
    use hand_made_tables::{question, refused};

    #[test]
    fn defaults_and_words() {
        let claim = question::<Claim>("").unwrap();
        assert_eq!((claim.k, claim.turns, claim.within), (2, 1, 10));
        assert_eq!(claim.outcome, ClaimOutcome::Lost);
        let claim: Claim = question("kinds = [\"rook\"]\nrestrained = \"yes\"").unwrap();
        assert_eq!(claim.turns, 2);
        assert_eq!(
            claim.in_words(),
            "rooks restrained to 2 safe squares at most"
        );
        let shut_out = "kinds = [\"knight\"]\nrestrained = \"yes\"\nturns = 8\nstands = [\"rim\"]";
        let claim: Claim = question(shut_out).unwrap();
        assert_eq!(
            claim.in_words(),
            "knights shut out on the rim (2 safe squares at most for 8 turns or more)"
        );
        let claim: Claim =
            question("kinds = [\"knight\"]\nk = 1\nturns = 2\nby = \"pawn\"").unwrap();
        assert_eq!(
            claim.in_words(),
            "knights held to one safe square at most by a pawn's move for at least 2 of their owner's turns"
        );
    }

    #[test]
    fn mistakes_name_line_and_field() {
        refused::<Claim>(&[
            (
                "turns = 0",
                "5, field \"turns\": 0 is not a whole number from 1 to 50",
            ),
            (
                "outcome = \"sold\"",
                "5, field \"outcome\": \"sold\" is not one of lost, captured, another piece lost, material lost, score, evaluation",
            ),
            (
                "by = \"king\"",
                "5, field \"by\": \"king\" is not one of any, pawn, piece",
            ),
            (
                "k = 1\ncause = [\"luck\"]",
                "6, field \"cause\": \"luck\" is not one of undeveloped, taken, blocked, entered, pinned",
            ),
        ]);
    }
}
