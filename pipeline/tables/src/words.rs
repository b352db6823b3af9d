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

    /// The list of words, for rating bands of a width in points.
    fn list(band_width: u16) -> Vec<String>;

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

                fn list(_: u16) -> Vec<String> {
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

/// Words of the kinds of unit, of which only some occur in a column.
macro_rules! units {
    ($words:ty, $occurring:expr) => {
        impl Words for $words {
            type Value = Role;

            #[inline]
            fn code(role: Role) -> u8 {
                unit_code(role)
            }

            fn list(_: u16) -> Vec<String> {
                UNIT_NAMES.map(str::to_owned).to_vec()
            }

            fn listed() -> Vec<&'static str> {
                UNIT_NAMES[$occurring].to_vec()
            }
        }
    };
}

/// A unit that can be captured: any but the king.
pub struct Capturable;

units!(Role, ..);
units!(Capturable, ..5);
units!(Kind, 1..5);

/// What became of a captured unit.
pub struct CapturedFate;

impl Words for CapturedFate {
    type Value = Fate;

    #[inline]
    fn code(fate: Fate) -> u8 {
        fate as u8
    }

    fn list(band_width: u16) -> Vec<String> {
        <Fate as Words>::list(band_width)
    }

    fn listed() -> Vec<&'static str> {
        Fate::CAPTURED.map(Fate::name).to_vec()
    }
}

impl Words for Color {
    type Value = Color;

    #[inline]
    fn code(color: Color) -> u8 {
        color.fold_wb(0, 1)
    }

    fn list(_: u16) -> Vec<String> {
        Self::listed().into_iter().map(str::to_owned).collect()
    }

    fn listed() -> Vec<&'static str> {
        vec!["white", "black"]
    }
}

impl Words for Square {
    type Value = Square;

    #[inline]
    fn code(square: Square) -> u8 {
        square as u8
    }

    fn list(_: u16) -> Vec<String> {
        Square::ALL.iter().map(ToString::to_string).collect()
    }

    fn listed() -> Vec<&'static str> {
        Vec::new()
    }
}

impl Words for Band {
    /// Code of the band for the width of the scan.
    type Value = u8;

    #[inline]
    fn code(code: u8) -> u8 {
        code
    }

    fn list(band_width: u16) -> Vec<String> {
        Band::names(band_width)
    }

    fn listed() -> Vec<&'static str> {
        Vec::new()
    }
}

/// Kinds of attacking units, as letters in the order PNBRQK.
pub struct Attackers;

impl Words for Attackers {
    /// Bit n for the n-th of P N B R Q K.
    type Value = u8;

    #[inline]
    fn code(kinds: u8) -> u8 {
        kinds
    }

    fn list(_: u16) -> Vec<String> {
        (0..64)
            .map(|kinds| kind_letters(kinds).to_owned())
            .collect()
    }

    fn listed() -> Vec<&'static str> {
        Vec::new()
    }
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
            let name = &Role::list(200)[usize::from(Role::code(role))];
            let letter = if role == Role::Knight {
                'k'
            } else {
                role.char()
            };
            assert!(name.starts_with(letter), "{name}");
        }
        for square in Square::ALL {
            let name = &Square::list(200)[usize::from(Square::code(square))];
            assert_eq!(name.parse().ok(), Some(square));
        }
        assert_eq!(Kind::listed(), ["knight", "bishop", "rook", "queen"]);
        assert_eq!(Capturable::listed().last(), Some(&"queen"));
        assert_eq!(Attackers::list(200)[0b1_0010], "NQ");
        let band = hobble_terms::Rating::Points(1512).band(200).code(200);
        let code = <Band as Words>::code(band);
        assert_eq!(Band::list(200)[usize::from(code)], "1400-1599");
    }
}
