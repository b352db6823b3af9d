//! The words a question is put in: kinds, outcomes, keys of the exposure cube.
//!
//! Each word is spelled the same in a question file, in the tables and in an answer.

use crate::circumstances::Balance;
use hobble_terms::{HORIZONS, words};
pub use hobble_terms::{Kind, MAX_K, Outcome, Phase, RatingDiff, TimeClass};
use shakmaty::{Bitboard, Rank};

words! {
    /// A yes-or-no property of a piece, or no matter which.
    #[derive(Default)]
    YesNo {
        /// No matter which.
        #[default]
        Any = "any",
        /// Only pieces that have it.
        Yes = "yes",
        /// Only pieces without it.
        No = "no",
    }
}

words! {
    /// Whose move restricts, by the kind of unit.
    MovedBy {
        /// No matter which.
        Any = "any",
        /// A pawn.
        Pawn = "pawn",
        /// Anything but a pawn.
        Piece = "piece",
    }
}

words! {
    /// A region of the board, seen from the owner of a piece.
    Place {
        /// The a- and h-file, the first and last row.
        Rim = "rim",
        /// The first four rows.
        OwnHalf = "own half",
        /// The last four rows.
        OpponentsHalf = "opponent's half",
    }
}

impl Place {
    /// Its squares, as White sees the board.
    pub fn squares(self) -> Bitboard {
        let own_half = Rank::ALL.into_iter().take(4).map(Bitboard::from_rank);
        let own_half = own_half.fold(Bitboard::EMPTY, |half, row| half | row);
        match self {
            Place::Rim => Bitboard::EDGES,
            Place::OwnHalf => own_half,
            Place::OpponentsHalf => !own_half,
        }
    }

    /// Where a piece in it stands.
    pub const fn in_words(self) -> &'static str {
        match self {
            Place::Rim => "on the rim",
            Place::OwnHalf => "in their own half",
            Place::OpponentsHalf => "in the opponent's half",
        }
    }
}

words! {
    /// A kind of unit.
    Unit {
        /// A pawn.
        Pawn = "pawn",
        /// A knight.
        Knight = "knight",
        /// A bishop.
        Bishop = "bishop",
        /// A rook.
        Rook = "rook",
        /// A queen.
        Queen = "queen",
        /// A king.
        King = "king",
    }
}

impl Unit {
    /// Its letter in columns of kinds of units.
    pub const fn letter(self) -> char {
        match self {
            Unit::Pawn => 'P',
            Unit::Knight => 'N',
            Unit::Bishop => 'B',
            Unit::Rook => 'R',
            Unit::Queen => 'Q',
            Unit::King => 'K',
        }
    }
}

words! {
    /// A key of the table `turns` by which observations are grouped or matched.
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
        /// Number of the move, by ten.
        Move = "move",
        /// The owner's material less the opponent's: behind, level, ahead.
        Balance = "balance",
        /// Safe squares of the piece two turns of its owner ago.
        SquaresBefore = "squares_before",
        /// Other developed pieces of the side with at most 2 safe squares.
        OthersHeld = "others_held",
    }
}

impl YesNo {
    /// Whether it does not matter.
    pub fn is_any(&self) -> bool {
        *self == YesNo::Any
    }

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
pub const WITHIN: [u32; HORIZONS.len()] = {
    let mut within = [0; HORIZONS.len()];
    let mut place = 0;
    while place < within.len() {
        within[place] = HORIZONS[place] as u32;
        place += 1;
    }
    within
};

/// Columns of the exposure cube that hold piece, circumstances, fold and turns.
pub const CUBE_KEYS: [&str; 10] = [
    "kind",
    "safe",
    "developed",
    "attacked",
    "defended",
    "phase",
    "band",
    "time_class",
    "fold",
    "turns",
];

/// Half points of an owner whose result is this word; none where it is not known.
pub fn half_points(result: Option<&str>) -> Option<u8> {
    match result? {
        "win" => Some(2),
        "draw" => Some(1),
        "loss" => Some(0),
        _ => None,
    }
}

/// Where a value stands among the others of its key, for a reader: words in the order of
/// their list, bands by their lower bound with `unrated` and `missing` last.
pub fn rank(key: Key, value: &str) -> u32 {
    let place = match key {
        Key::Kind => Kind::from_name(value).map(|member| member as u32),
        Key::Phase => Phase::from_name(value).map(|member| member as u32),
        Key::TimeClass => TimeClass::from_name(value).map(|member| member as u32),
        Key::RatingDiff => RatingDiff::from_name(value).map(|member| member as u32),
        Key::Band => match value {
            "unrated" => Some(u32::MAX - 2),
            "missing" => Some(u32::MAX - 1),
            bounds => leading_number(bounds),
        },
        Key::Balance => Balance::from_name(value).map(|member| member as u32),
        Key::Move | Key::SquaresBefore | Key::OthersHeld => leading_number(value),
        Key::Attacked | Key::Defended => None,
    };
    place.unwrap_or(u32::MAX)
}

/// The number that a class begins with, as 11 in `11-20`.
fn leading_number(value: &str) -> Option<u32> {
    let end = value.find(|letter: char| !letter.is_ascii_digit());
    value[..end.unwrap_or(value.len())].parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_reads_back() {
        for kind in Kind::ALL {
            assert_eq!(Kind::from_name(kind.name()), Some(kind));
        }
        for key in Key::ALL {
            assert_eq!(Key::from_name(key.name()), Some(key));
        }
        assert_eq!(Kind::from_name("pawn"), None);
    }

    #[test]
    fn values_in_the_order_of_a_reader() {
        let order = |key, mut values: Vec<&'static str>| {
            values.sort_by_key(|value| (rank(key, value), *value));
            values
        };
        assert_eq!(
            order(
                Key::Band,
                vec!["missing", "1000-1199", "unrated", "800-999"]
            ),
            ["800-999", "1000-1199", "unrated", "missing"]
        );
        assert_eq!(
            order(Key::Kind, vec!["queen", "bishop", "knight"]),
            ["knight", "bishop", "queen"]
        );
        assert_eq!(
            order(Key::RatingDiff, vec![">=200", "unknown", "<=-200"]),
            ["<=-200", ">=200", "unknown"]
        );
    }
}
