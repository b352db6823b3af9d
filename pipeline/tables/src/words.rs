//! Columns of words: text out of a list of at most 255 words, kept as places in the list.

use shakmaty::{Color, Role, Square};

use hobble_game::ending::Ending;
use hobble_terms::{
    Band, By, CauseKind, Fate, GameResult, Kind, Phase, RatingDiff, Reason, SpellEnd, TimeClass,
    UNIT_NAMES, Variant, unit_code,
};
use hobble_tracks::spell::kind_letters;

/// The words of a column.
pub trait Words: 'static {
    /// What a row is given.
    type Value: Copy;

    /// Place of a value in the list of words.
    fn code(value: Self::Value) -> u8;

    /// The list of words.
    fn list() -> Vec<String>;

    /// The words as the schema lists them; empty where the text of the column describes them.
    fn listed() -> Vec<&'static str>;
}

/// Words of the enums whose members have a number and a name each.
macro_rules! enums {
    ($($words:ty),+ $(,)?) => {
        $(
            impl Words for $words {
                type Value = $words;

                #[inline]
                fn code(value: $words) -> u8 {
                    value as u8
                }

                fn list() -> Vec<String> {
                    <$words>::ALL.iter().map(|word| word.name().to_owned()).collect()
                }

                fn listed() -> Vec<&'static str> {
                    <$words>::ALL.iter().map(|word| word.name()).collect()
                }
            }
        )+
    };
}

enums! {
    By, CauseKind, Ending, Fate, GameResult, OwnerResult, Phase, RatingDiff, Reason, SpellEnd,
    TimeClass, Variant,
}

/// Words of other values: what a row is given, its place in the list, the list, and the words as the
/// schema lists them.
macro_rules! words {
    ($($words:ty: $value:ty, $code:expr, $list:expr, $listed:expr;)+) => {
        $(
            impl Words for $words {
                type Value = $value;

                #[inline]
                fn code(value: $value) -> u8 {
                    let code: fn($value) -> u8 = $code;
                    code(value)
                }

                fn list() -> Vec<String> {
                    let list: fn() -> Vec<String> = $list;
                    list()
                }

                fn listed() -> Vec<&'static str> {
                    $listed
                }
            }
        )+
    };
}

/// A unit that can be captured: any but the king.
pub struct Capturable;

/// What became of a captured unit.
pub struct CapturedFate;

/// Kinds of attacking units, as letters in the order PNBRQK: bit n for the n-th of them.
pub struct Attackers;

const COLORS: [&str; 2] = ["white", "black"];

fn owned(words: &[&str]) -> Vec<String> {
    words.iter().map(|&word| word.to_owned()).collect()
}

// Of the kinds of unit only some occur in a column. A band is given by its code.
words! {
    Role: Role, unit_code, || owned(&UNIT_NAMES), UNIT_NAMES.to_vec();
    Capturable: Role, unit_code, || owned(&UNIT_NAMES), UNIT_NAMES[..5].to_vec();
    Kind: Role, unit_code, || owned(&UNIT_NAMES), UNIT_NAMES[1..5].to_vec();
    CapturedFate: Fate, |fate| fate as u8, <Fate as Words>::list, Fate::CAPTURED.map(Fate::name).to_vec();
    Color: Color, |color| color.fold_wb(0, 1), || owned(&COLORS), COLORS.to_vec();
    Square: Square, |square| square as u8, || Square::ALL.iter().map(ToString::to_string).collect(), Vec::new();
    Band: u8, |code| code, || Band::names(Band::WIDTH), Vec::new();
    Attackers: u8, |kinds| kinds, || (0..64).map(|kinds| kind_letters(kinds).to_owned()).collect(), Vec::new();
}

/// Result of a game as its owner sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OwnerResult {
    /// Won.
    Win,
    /// Drawn.
    Draw,
    /// Lost.
    Loss,
    /// Not known, or not finished.
    Unknown,
}

impl OwnerResult {
    /// All results.
    pub const ALL: [OwnerResult; 4] = [
        OwnerResult::Win,
        OwnerResult::Draw,
        OwnerResult::Loss,
        OwnerResult::Unknown,
    ];

    /// A result as a side sees it.
    pub const fn of(result: GameResult, owner: Color) -> OwnerResult {
        match (result, owner) {
            (GameResult::White, Color::White) | (GameResult::Black, Color::Black) => {
                OwnerResult::Win
            }
            (GameResult::White | GameResult::Black, _) => OwnerResult::Loss,
            (GameResult::Draw, _) => OwnerResult::Draw,
            (GameResult::Unknown, _) => OwnerResult::Unknown,
        }
    }

    /// Word in the tables.
    pub const fn name(self) -> &'static str {
        match self {
            OwnerResult::Win => "win",
            OwnerResult::Loss => "loss",
            OwnerResult::Draw => "draw",
            OwnerResult::Unknown => "unknown",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_places_of_words() {
        for role in Role::ALL {
            let name = &Role::list()[usize::from(Role::code(role))];
            let letter = if role == Role::Knight {
                'k'
            } else {
                role.char()
            };
            assert!(name.starts_with(letter), "{name}");
        }
        for square in Square::ALL {
            let name = &Square::list()[usize::from(Square::code(square))];
            assert_eq!(name.parse().ok(), Some(square));
        }
        assert_eq!(Kind::listed(), ["knight", "bishop", "rook", "queen"]);
        assert_eq!(Capturable::listed().last(), Some(&"queen"));
        assert_eq!(Attackers::list()[0b1_0010], "NQ");
        let band = hobble_terms::Rating::Points(1512)
            .band(Band::WIDTH)
            .code(Band::WIDTH);
        let code = <Band as Words>::code(band);
        assert_eq!(Band::list()[usize::from(code)], "1500-1599");
    }
}
