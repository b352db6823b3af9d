//! How the piece stands: where, what attacks and defends it, its good squares.
//!
//! Of a spell it is asked at its start, of a turn at that turn.

use shakmaty::Bitboard;

use super::{is, listed, only, or};
use crate::asked_rows::{AskedRows, Narrows};
use crate::fields::bounds::{Bounds, BoundsUpTo};
use crate::fields::shape::{Optional, Shape, number, word, words};
use crate::fields::squares::Squares;
use crate::fields::{Field, Said};
use crate::filter::Condition;
use crate::terms::{Place, Unit, YesNo};

/// Region of the board in which the piece stands.
pub enum Stands {}

impl Field for Stands {
    type Value = Vec<Place>;
    const NAME: &'static str = "stands";
    const TEXT: &'static str = "Where the piece stands: on the rim (a- or h-file, first or last row), in its owner's own half, in the opponent's half; in one of these where several are named; empty for anywhere.";

    fn shape() -> impl Shape<Value = Vec<Place>> {
        words()
    }

    fn default() -> Vec<Place> {
        Vec::new()
    }

    fn condition(places: &Vec<Place>, rows: AskedRows) -> Condition<'_> {
        let squares = places.iter().map(|place| place.squares());
        stands_on(squares.fold(Bitboard::EMPTY, |all, one| all | one), rows)
    }

    fn said(places: &Vec<Place>) -> Option<Said> {
        Some(Said {
            name: "Stands",
            words: or(places.iter().map(|place| place.in_words()))?,
        })
    }

    fn after_kind(places: &Vec<Place>) -> Option<String> {
        or(places.iter().map(|place| place.in_words()))
    }
}

/// Squares on which the piece stands.
pub enum OnSquares {}

impl Field for OnSquares {
    type Value = Vec<String>;
    const NAME: &'static str = "squares";
    const TEXT: &'static str = "Squares on which the piece stands, as its owner sees the board: White's squares; for a piece of Black the same file and the row counted from the other side, so that a4 is a5 there. Empty for all.";

    fn shape() -> impl Shape<Value = Vec<String>> {
        Squares
    }

    fn default() -> Vec<String> {
        Vec::new()
    }

    fn condition(squares: &Vec<String>, rows: AskedRows) -> Condition<'_> {
        let squares = squares.iter().filter_map(|square| square.parse().ok());
        stands_on(squares.collect(), rows)
    }

    fn said(squares: &Vec<String>) -> Option<Said> {
        Some(Said {
            name: "Squares",
            words: format!("{}, as the owner sees the board", or(squares.iter())?),
        })
    }

    fn after_kind(squares: &Vec<String>) -> Option<String> {
        or(squares.iter()).map(|squares| format!("on {squares} seen from their owner"))
    }
}

/// The cube of exposure does not know where pieces stand.
fn stands_on(squares: Bitboard, rows: AskedRows) -> Condition<'static> {
    if squares.is_empty() || rows == AskedRows::Exposure {
        return Condition::Always;
    }
    Condition::StandsOn(squares)
}

/// Whether an enemy unit attacks the piece.
pub enum Attacked {}

impl Field for Attacked {
    type Value = YesNo;
    const NAME: &'static str = "attacked";
    const TEXT: &'static str = "Only pieces an enemy unit attacks (yes), only others (no), or both; of a spell, at its start.";

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    /// A restrained piece is not attacked at the start of its spell. That is a turn before its
    /// landmark, so that a free piece is asked at its owner's last turn.
    fn condition(attacked: &YesNo, rows: AskedRows) -> Condition<'_> {
        let Some(wanted) = attacked.wanted() else {
            return Condition::Always;
        };
        match rows {
            AskedRows::RestrainedTurns => Condition::known(!wanted),
            AskedRows::FreeBesideRestrained => Condition::Is("attacked_last", wanted),
            AskedRows::Exposure => Condition::Is("attacked", wanted),
            AskedRows::Spells | AskedRows::HeldTurns | AskedRows::FreeBesideHeld => {
                Condition::Empty("attacked_by", !wanted)
            }
        }
    }

    fn said(attacked: &YesNo) -> Option<Said> {
        only("Attacked", *attacked, "are attacked", "are not attacked")
    }
}

/// Whether an own unit defends the piece.
pub enum Defended {}

impl Field for Defended {
    type Value = YesNo;
    const NAME: &'static str = "defended";
    const TEXT: &'static str = "Only pieces an own unit defends (yes), only others (no), or both; of a spell, at its start.";

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    fn condition(defended: &YesNo, rows: AskedRows) -> Condition<'_> {
        match (rows, defended.wanted()) {
            (_, None) => Condition::Always,
            (AskedRows::Spells | AskedRows::Exposure, _) => is("defended", *defended),
            (_, Some(wanted)) => Condition::Empty("defended_by", !wanted),
        }
    }

    fn said(defended: &YesNo) -> Option<Said> {
        only("Defended", *defended, "are defended", "are not defended")
    }
}

/// Number of own units that defend the piece.
pub enum Defenders {}

impl Field for Defenders {
    type Value = Option<Bounds>;
    const NAME: &'static str = "defenders";
    const TEXT: &'static str = "Number of own units that defend the piece; any where not given.";

    fn shape() -> impl Shape<Value = Option<Bounds>> {
        Optional(BoundsUpTo(15))
    }

    fn default() -> Option<Bounds> {
        None
    }

    fn condition(bounds: &Option<Bounds>, rows: AskedRows) -> Condition<'_> {
        within("defenders", *bounds, rows)
    }

    fn said(bounds: &Option<Bounds>) -> Option<Said> {
        said_bounds("Defenders", *bounds)
    }
}

/// Kinds of own units, one of which defends the piece.
pub enum DefendedBy {}

impl Field for DefendedBy {
    type Value = Vec<Unit>;
    const NAME: &'static str = "defended_by";
    const TEXT: &'static str =
        "Only pieces that at least one own unit of these kinds defends; empty for all.";

    fn shape() -> impl Shape<Value = Vec<Unit>> {
        words()
    }

    fn default() -> Vec<Unit> {
        Vec::new()
    }

    fn condition(units: &Vec<Unit>, rows: AskedRows) -> Condition<'_> {
        if units.is_empty() || rows == AskedRows::Exposure {
            return Condition::Always;
        }
        let letters = units.iter().map(|unit| unit.letter());
        Condition::AnyLetter("defended_by", letters.collect())
    }

    fn said(units: &Vec<Unit>) -> Option<Said> {
        listed("Defended by", units)
    }
}

/// Other pieces of the side that are held.
pub enum OthersHeld {}

impl Field for OthersHeld {
    type Value = Option<Bounds>;
    const NAME: &'static str = "others_held";
    const TEXT: &'static str = "Number of other developed knights, bishops, rooks and queens of the side with at most 2 safe squares; any where not given.";

    fn shape() -> impl Shape<Value = Option<Bounds>> {
        Optional(BoundsUpTo(15))
    }

    fn default() -> Option<Bounds> {
        None
    }

    fn condition(bounds: &Option<Bounds>, rows: AskedRows) -> Condition<'_> {
        within("others_held", *bounds, rows)
    }

    fn said(bounds: &Option<Bounds>) -> Option<Said> {
        said_bounds("Other pieces held", *bounds)
    }
}

/// Other pieces of the side that are restrained.
pub enum OthersRestrained {}

impl Field for OthersRestrained {
    type Value = Option<Bounds>;
    const NAME: &'static str = "others_restrained";
    const TEXT: &'static str = "Number of other pieces of the side that are restrained at k = 2 (definitions, section 6); any where not given.";

    fn shape() -> impl Shape<Value = Option<Bounds>> {
        Optional(BoundsUpTo(15))
    }

    fn default() -> Option<Bounds> {
        None
    }

    fn condition(bounds: &Option<Bounds>, rows: AskedRows) -> Condition<'_> {
        within("others_restrained", *bounds, rows)
    }

    fn said(bounds: &Option<Bounds>) -> Option<Said> {
        said_bounds("Other pieces restrained", *bounds)
    }
}

/// The cube of exposure has no such numbers.
fn within(column: &'static str, bounds: Option<Bounds>, rows: AskedRows) -> Condition<'static> {
    match bounds {
        Some(bounds) if rows != AskedRows::Exposure => {
            let (low, high) = bounds.range().into_inner();
            Condition::From(column, low, high)
        }
        _ => Condition::Always,
    }
}

fn said_bounds(name: &'static str, bounds: Option<Bounds>) -> Option<Said> {
    bounds.map(|bounds| Said {
        name,
        words: bounds.to_string(),
    })
}

/// Good squares, at most.
pub enum GoodSquares {}

impl Field for GoodSquares {
    type Value = Option<u8>;
    const NAME: &'static str = "good";
    const TEXT: &'static str = "Good squares (definitions, section 4) at the start, at most; any number where not given. Free turns cannot be matched by it.";
    const NARROWS: Narrows = Narrows::Restricted;

    fn shape() -> impl Shape<Value = Option<u8>> {
        Optional(number(0..=64))
    }

    fn default() -> Option<u8> {
        None
    }

    fn condition(good: &Option<u8>, _: AskedRows) -> Condition<'_> {
        good.map_or(Condition::Always, |most| {
            Condition::AtMost("good", u64::from(most))
        })
    }

    fn said(good: &Option<u8>) -> Option<Said> {
        good.map(|most| Said {
            name: "Good squares",
            words: format!("{most} at most"),
        })
    }
}
