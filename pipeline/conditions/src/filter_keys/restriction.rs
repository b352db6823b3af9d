//! How the piece is restricted: safe squares, cause, mover, turns, restrained or merely held.
//!
//! Free pieces have none of this: each key narrows the restricted pieces alone.

use hobble_terms::{CauseKind, MAX_K};

use super::{any_of, is, listed, only};
use crate::asked_rows::{AskedRows, Narrows};
use crate::fields::Said;
use crate::fields::shape::{Optional, number, word, words};
use crate::filter::Condition;
use crate::terms::{MovedBy, YesNo};

crate::fields! {
    /// A piece is held where it has this many safe squares or fewer.
    SafeSquares("k"): u8 = 2, in number(0..=i64::from(MAX_K)) => {
        narrows: Narrows::Restricted,
        given(beside): beside.k.map(|k| k.to_string()),
        // Spells are recorded from the least to the most `k` they are spells at.
        condition(k, rows): match rows {
            AskedRows::Spells => Condition::Between("k_low", u64::from(*k), "k_high"),
            _ => Condition::AtMost("safe", u64::from(*k)),
        },
    };

    /// Turns of its owner the piece must have been held for, at least; what follows is counted from
    /// the last of these. A piece restrained for 8 turns is shut out.
    Turns("turns"): u32 = 1, in number(1..=50) => {
        narrows: Narrows::Restricted,
        // A row of `turns` is one turn of a spell; which one its `restrained_k` says, for each k.
        condition(turns, rows): match rows {
            AskedRows::Spells => Condition::AtLeast("turns", u64::from(*turns)),
            _ => Condition::Always,
        },
    };

    /// What restricted it (definitions, section 6); empty for anything.
    Causes("cause"): Vec<CauseKind> = Vec::new(), in words().by_alphabet() => {
        narrows: Narrows::Restricted,
        // A restrained piece had its squares taken.
        condition(causes, rows): match rows {
            AskedRows::RestrainedTurns => {
                Condition::known(causes.is_empty() || causes.contains(&CauseKind::Taken))
            }
            _ => any_of("cause", causes),
        },
        said(causes): listed("Cause", causes),
    };

    /// Kind of unit whose move did it: a pawn, or a piece or king.
    Mover("by"): MovedBy = MovedBy::Any, in word() => {
        narrows: Narrows::Restricted,
        condition(by, rows): {
            let units = match by {
                MovedBy::Any => return Condition::Always,
                MovedBy::Pawn => vec!["pawn"],
                MovedBy::Piece => vec!["knight", "bishop", "rook", "queen", "king"],
            };
            let column = match rows {
                AskedRows::RestrainedTurns => "restrained_by",
                _ => "cause_kind",
            };
            Condition::OneOf(column, units)
        },
    };

    /// Only restrained pieces (yes), only pieces held in another way (no), or both (definitions,
    /// section 6). What follows a restraint is counted from its second turn, the landmark.
    Restrained("restrained"): YesNo = YesNo::Any, in word() => {
        narrows: Narrows::Restricted,
        // A turn at which a piece is restrained at some k counts as one at which it is restrained.
        condition(restrained, rows): match (rows, restrained.wanted()) {
            (_, None) => Condition::Always,
            (AskedRows::RestrainedTurns, Some(wanted)) => Condition::known(wanted),
            (AskedRows::HeldTurns, Some(wanted)) => Condition::Missing("restrained_by", !wanted),
            _ => is("restrained", *restrained),
        },
        said(restrained): {
            let yes = "a quiet move of the opponent left without an attack and that are still held a turn later";
            only("Restrained", *restrained, yes, "are held in another way")
        },
    };

    /// Only spells whose cause neither captured, promoted nor gave check (yes), only those whose
    /// cause did (no), or both; a piece held from the beginning has no cause and is in neither.
    Quiet("quiet"): YesNo = YesNo::Any, in word() => {
        narrows: Narrows::Restricted,
        // A restrained piece was restrained by a quiet move.
        condition(quiet, rows): match rows {
            AskedRows::RestrainedTurns => Condition::known(*quiet != YesNo::No),
            _ => is("quiet", *quiet),
        },
        said(quiet): {
            let (yes, no) = (
                "a quiet move restricted",
                "a capture, promotion or check restricted",
            );
            only("Cause quiet", *quiet, yes, no)
        },
    };

    /// Safe squares that the cause took from the piece itself (definitions, section 6), at least;
    /// any number where not given.
    SquaresTaken("squares_taken"): Option<u8> = None, in Optional(number(1..=28)) => {
        narrows: Narrows::Restricted,
        condition(taken, rows): {
            let column = match rows {
                AskedRows::RestrainedTurns => "restrained_taken",
                _ => "squares_taken",
            };
            taken.map_or(Condition::Always, |least| {
                Condition::AtLeast(column, u64::from(least))
            })
        },
        said(taken): taken.map(|least| Said {
            name: "Squares taken at once",
            words: format!("{least} at least"),
        }),
    };

    /// Only bishops behind a wedge of pawns (definitions, section 6) (yes), only other bishops
    /// (no), or all pieces.
    Wedge("wedge"): YesNo = YesNo::Any, in word() => {
        narrows: Narrows::Restricted,
        condition(wedge, _): is("wedge", *wedge),
        said(wedge): {
            let (yes, no) = ("stand behind one", "are bishops and stand behind none");
            only("Wedge of pawns", *wedge, yes, no)
        },
        after_kind(wedge): wedge.wanted().map(|wanted| match wanted {
            true => "behind a wedge of pawns".to_owned(),
            false => "not behind a wedge of pawns".to_owned(),
        }),
    };
}
