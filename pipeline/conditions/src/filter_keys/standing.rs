//! How the piece stands: where, what attacks and defends it, its good squares.
//!
//! Of a spell it is asked at its start, of a turn at that turn.

use shakmaty::Bitboard;

use super::{is, listed, only, or};
use crate::asked_rows::{AskedRows, Narrows};
use crate::fields::Said;
use crate::fields::bounds::{Bounds, BoundsUpTo};
use crate::fields::shape::{Optional, number, word, words};
use crate::fields::squares::Squares;
use crate::filter::Condition;
use crate::terms::{Place, Unit, YesNo};

crate::fields! {
    /// Where the piece stands: on the rim (a- or h-file, first or last row), in its owner's own
    /// half, in the opponent's half; in one of these where several are named; empty for anywhere.
    Stands("stands"): Vec<Place> = Vec::new(), in words() => {
        condition(places, rows): {
            let squares = places.iter().map(|place| place.squares());
            stands_on(squares.fold(Bitboard::EMPTY, |all, one| all | one), rows)
        },
        said(places): Some(Said {
            name: "Stands",
            words: or(places.iter().map(|place| place.in_words()))?,
        }),
        after_kind(places): or(places.iter().map(|place| place.in_words())),
    };

    /// Squares on which the piece stands, as its owner sees the board: White's squares; for a piece
    /// of Black the same file and the row counted from the other side, so that a4 is a5 there.
    /// Empty for all.
    OnSquares("squares"): Vec<String> = Vec::new(), in Squares => {
        condition(squares, rows): {
            let squares = squares.iter().filter_map(|square| square.parse().ok());
            stands_on(squares.collect(), rows)
        },
        said(squares): Some(Said {
            name: "Squares",
            words: format!("{}, as the owner sees the board", or(squares.iter())?),
        }),
        after_kind(squares): or(squares.iter()).map(|squares| format!("on {squares} seen from their owner")),
    };
}

/// The cube of exposure does not know where pieces stand.
fn stands_on(squares: Bitboard, rows: AskedRows) -> Condition<'static> {
    if squares.is_empty() || rows == AskedRows::Exposure {
        return Condition::Always;
    }
    // A chance has the colour of the side on move, which is not the piece's.
    Condition::StandsOn(match rows {
        AskedRows::Chances => squares.flip_vertical(),
        _ => squares,
    })
}

crate::fields! {
    /// Only pieces an enemy unit attacks (yes), only others (no), or both; of a spell, at its
    /// start.
    Attacked("attacked"): YesNo = YesNo::Any, in word() => {
        // A restrained piece is not attacked at the start of its spell. That is a turn before its
        // landmark, so that a free piece is asked at its owner's last turn.
        condition(attacked, rows): {
            let Some(wanted) = attacked.wanted() else {
                return Condition::Always;
            };
            match rows {
                AskedRows::RestrainedTurns => Condition::known(!wanted),
                AskedRows::FreeBesideRestrained => Condition::Is("attacked_last", wanted),
                AskedRows::Exposure => Condition::Is("attacked", wanted),
                AskedRows::Sides => Condition::Always,
                AskedRows::Spells
                | AskedRows::HeldTurns
                | AskedRows::FreeBesideHeld
                | AskedRows::Chances => {
                    Condition::Empty("attacked_by", !wanted)
                }
            }
        },
        said(attacked): only("Attacked", *attacked, "are attacked", "are not attacked"),
    };

    /// Only pieces an own unit defends (yes), only others (no), or both; of a spell, at its start.
    Defended("defended"): YesNo = YesNo::Any, in word() => {
        condition(defended, rows): match (rows, defended.wanted()) {
            (_, None) => Condition::Always,
            (AskedRows::Spells | AskedRows::Exposure, _) => is("defended", *defended),
            (_, Some(wanted)) => Condition::Empty("defended_by", !wanted),
        },
        said(defended): only("Defended", *defended, "are defended", "are not defended"),
    };

    /// Number of own units that defend the piece; any where not given.
    Defenders("defenders"): Option<Bounds> = None, in Optional(BoundsUpTo(15)) => {
        condition(bounds, rows): within("defenders", *bounds, rows),
        said(bounds): said_bounds("Defenders", *bounds),
    };

    /// Only pieces that at least one own unit of these kinds defends; empty for all.
    DefendedBy("defended_by"): Vec<Unit> = Vec::new(), in words() => {
        condition(units, rows): {
            if units.is_empty() || rows == AskedRows::Exposure {
                return Condition::Always;
            }
            let letters = units.iter().map(|unit| unit.letter());
            Condition::AnyLetter("defended_by", letters.collect())
        },
        said(units): listed("Defended by", units),
    };

    /// Number of other developed knights, bishops, rooks and queens of the side with at most 2 safe
    /// squares; any where not given.
    OthersHeld("others_held"): Option<Bounds> = None, in Optional(BoundsUpTo(15)) => {
        condition(bounds, rows): within("others_held", *bounds, rows),
        said(bounds): said_bounds("Other pieces held", *bounds),
    };

    /// Number of other pieces of the side that are restrained at k = 2 (definitions, section 6);
    /// any where not given.
    OthersRestrained("others_restrained"): Option<Bounds> = None, in Optional(BoundsUpTo(15)) => {
        condition(bounds, rows): within("others_restrained", *bounds, rows),
        said(bounds): said_bounds("Other pieces restrained", *bounds),
    };
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

crate::fields! {
    /// Good squares (definitions, section 4) at the start, at most; any number where not given.
    /// Free turns cannot be matched by it.
    GoodSquares("good"): Option<u8> = None, in Optional(number(0..=64)) => {
        narrows: Narrows::Restricted,
        condition(good, _): good.map_or(Condition::Always, |most| {
            Condition::AtMost("good", u64::from(most))
        }),
        said(good): good.map(|most| Said {
            name: "Good squares",
            words: format!("{most} at most"),
        }),
    };
}
