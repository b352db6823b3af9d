//! The words a question is put in: kinds, outcomes, keys of the exposure cube.
//!
//! Each word is spelled the same in a question file, in the tables and in an answer.

use serde::{Deserialize, Serialize};

/// Declares an enum whose members have one spelling each, in files, tables and answers.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$inner:meta])* $member:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum $name { $($(#[$inner])* #[serde(rename = $word)] $member),+ }

        impl $name {
            /// Every member, in the order they are listed to a reader.
            pub const ALL: &'static [$name] = &[$($name::$member),+];

            /// The spelling of the member.
            pub const fn word(self) -> &'static str {
                match self { $($name::$member => $word),+ }
            }

            /// The member with this spelling, if there is one.
            pub fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some($name::$member),)+ _ => None }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
    };
}

pub(crate) use words;

words! {
    /// What a question file is about (its field `about`).
    About {
        /// Held pieces against comparable free ones.
        Comparison = "comparison",
        /// One player's habits.
        Player = "player",
        /// Restraint by rating band.
        Bands = "bands",
        /// A training claim, put to the games.
        Claim = "claim",
    }
}

words! {
    /// Kind of piece, in the trade's narrow sense: no pawn, no king.
    Kind {
        /// Knight.
        Knight = "knight",
        /// Bishop.
        Bishop = "bishop",
        /// Rook.
        Rook = "rook",
        /// Queen.
        Queen = "queen",
    }
}

words! {
    /// What is counted as having happened to a piece (definitions, section 7).
    Outcome {
        /// Captured at a loss of two pawns or more.
        Lost = "lost",
        /// Captured in any way: lost, traded or sold.
        Captured = "captured",
        /// Captured in an even exchange.
        Traded = "traded",
        /// Captured for more than its value.
        Sold = "sold",
    }
}

words! {
    /// A yes-or-no property of a piece, or no matter which.
    YesNo {
        /// No matter which.
        Any = "any",
        /// Only pieces that have it.
        Yes = "yes",
        /// Only pieces that have it not.
        No = "no",
    }
}

words! {
    /// Phase of the game (definitions, section 9).
    Phase {
        /// Opening.
        Opening = "opening",
        /// Middlegame.
        Middlegame = "middlegame",
        /// Endgame.
        Endgame = "endgame",
    }
}

words! {
    /// Time class of the game (definitions, section 9).
    TimeClass {
        /// Under three minutes.
        Bullet = "bullet",
        /// Under eight minutes.
        Blitz = "blitz",
        /// Under twenty-five minutes.
        Rapid = "rapid",
        /// Longer.
        Classical = "classical",
        /// Correspondence.
        Correspondence = "correspondence",
        /// Not told.
        Unknown = "unknown",
    }
}

words! {
    /// Owner's rating less the opponent's (definitions, section 9).
    RatingDiff {
        /// 200 or more below.
        FarBelow = "<=-200",
        /// 50 to 199 below.
        Below = "-199..-50",
        /// Within 49.
        Even = "-49..49",
        /// 50 to 199 above.
        Above = "50..199",
        /// 200 or more above.
        FarAbove = ">=200",
        /// Not told.
        Unknown = "unknown",
    }
}

words! {
    /// A key of the exposure cube by which observations are grouped or matched.
    Key {
        /// Kind of piece.
        Kind = "kind",
        /// Phase of the game.
        Phase = "phase",
        /// Owner's rating band.
        Band = "band",
        /// Time class of the game.
        TimeClass = "time_class",
        /// Owner's rating less the opponent's.
        RatingDiff = "rating_diff",
        /// Whether an enemy unit attacks the piece.
        Attacked = "attacked",
        /// Whether an own unit defends it.
        Defended = "defended",
        /// Whether it had moved.
        Developed = "developed",
    }
}

impl Key {
    /// Whether the column holds true and false rather than words.
    pub const fn is_boolean(self) -> bool {
        matches!(self, Key::Attacked | Key::Defended | Key::Developed)
    }
}

impl YesNo {
    /// The value a boolean column must have, `None` where it does not matter.
    pub const fn wanted(self) -> Option<bool> {
        match self {
            YesNo::Any => None,
            YesNo::Yes => Some(true),
            YesNo::No => Some(false),
        }
    }
}

/// Horizons, in moves, for which the exposure cube holds outcomes.
pub const WITHIN: [u32; 5] = [3, 5, 10, 15, 20];

/// Highest k for which restriction is recorded.
pub const MAX_K: u8 = hobble_tracks::MAX_K;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn horizons_are_those_of_the_cube() {
        let cube = hobble_tracks::exposure::HORIZONS.map(|moves| moves as u32);
        assert_eq!(WITHIN, cube);
    }

    #[test]
    fn every_word_reads_back() {
        for &kind in Kind::ALL {
            assert_eq!(Kind::from_word(kind.word()), Some(kind));
        }
        for &key in Key::ALL {
            assert_eq!(Key::from_word(key.word()), Some(key));
        }
        assert_eq!(Kind::from_word("pawn"), None);
    }
}
