//! How the piece is restricted: safe squares, cause, mover, turns, restrained or merely held.
//!
//! Free pieces have none of this: each key narrows the restricted pieces alone.

use hobble_terms::{CauseKind, MAX_K};

use super::{any_of, is, listed, only};
use crate::asked_rows::{AskedRows, Narrows};
use crate::fields::shape::{Optional, Shape, number, word, words};
use crate::fields::{Field, Said};
use crate::filter::Condition;
use crate::terms::{MovedBy, YesNo};

/// Safe squares, at most, of a held piece.
pub enum SafeSquares {}

impl Field for SafeSquares {
    type Value = u8;
    const NAME: &'static str = "k";
    const TEXT: &'static str = "A piece is held where it has this many safe squares or fewer.";
    const NARROWS: Narrows = Narrows::Restricted;

    fn shape() -> impl Shape<Value = u8> {
        number(0..=i64::from(MAX_K))
    }

    fn default() -> u8 {
        2
    }

    /// Spells are recorded from the least to the most `k` they are spells at.
    fn condition(k: &u8, rows: AskedRows) -> Condition<'_> {
        match rows {
            AskedRows::Spells => Condition::Between("k_low", u64::from(*k), "k_high"),
            _ => Condition::AtMost("safe", u64::from(*k)),
        }
    }
}

/// Turns a spell has lasted, at least.
pub enum Turns {}

impl Field for Turns {
    type Value = u32;
    const NAME: &'static str = "turns";
    const TEXT: &'static str = "Turns of its owner the piece must have been held for, at least; what follows is counted from the last of these. A piece restrained for 8 turns is shut out.";
    const NARROWS: Narrows = Narrows::Restricted;

    fn shape() -> impl Shape<Value = u32> {
        number(1..=50)
    }

    fn default() -> u32 {
        1
    }

    /// A row of `turns` is one turn of a spell; which one its `restrained_k` says, for each k.
    fn condition(turns: &u32, rows: AskedRows) -> Condition<'_> {
        match rows {
            AskedRows::Spells => Condition::AtLeast("turns", u64::from(*turns)),
            _ => Condition::Always,
        }
    }
}

/// What restricted the piece.
pub enum Causes {}

impl Field for Causes {
    type Value = Vec<CauseKind>;
    const NAME: &'static str = "cause";
    const TEXT: &'static str = "What restricted it (definitions, section 6); empty for anything.";
    const NARROWS: Narrows = Narrows::Restricted;

    fn shape() -> impl Shape<Value = Vec<CauseKind>> {
        words().by_alphabet()
    }

    fn default() -> Vec<CauseKind> {
        Vec::new()
    }

    /// A restrained piece had its squares taken.
    fn condition(causes: &Vec<CauseKind>, rows: AskedRows) -> Condition<'_> {
        match rows {
            AskedRows::RestrainedTurns => {
                Condition::known(causes.is_empty() || causes.contains(&CauseKind::Taken))
            }
            _ => any_of("cause", causes),
        }
    }

    fn said(causes: &Vec<CauseKind>) -> Option<Said> {
        listed("Cause", causes)
    }
}

/// Kind of unit whose move restricted the piece.
pub enum Mover {}

impl Field for Mover {
    type Value = MovedBy;
    const NAME: &'static str = "by";
    const TEXT: &'static str = "Kind of unit whose move did it: a pawn, or a piece or king.";
    const NARROWS: Narrows = Narrows::Restricted;

    fn shape() -> impl Shape<Value = MovedBy> {
        word()
    }

    fn default() -> MovedBy {
        MovedBy::Any
    }

    fn condition(by: &MovedBy, rows: AskedRows) -> Condition<'_> {
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
    }
}

/// Whether the piece is restrained.
pub enum Restrained {}

impl Field for Restrained {
    type Value = YesNo;
    const NAME: &'static str = "restrained";
    const TEXT: &'static str = "Only restrained pieces (yes), only pieces held in another way (no), or both (definitions, section 6). What follows a restraint is counted from its second turn, the landmark.";
    const NARROWS: Narrows = Narrows::Restricted;

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    /// A turn at which a piece is restrained at some k counts as one at which it is restrained.
    fn condition(restrained: &YesNo, rows: AskedRows) -> Condition<'_> {
        match (rows, restrained.wanted()) {
            (_, None) => Condition::Always,
            (AskedRows::RestrainedTurns, Some(wanted)) => Condition::known(wanted),
            (AskedRows::HeldTurns, Some(wanted)) => Condition::Missing("restrained_by", !wanted),
            _ => is("restrained", *restrained),
        }
    }

    fn said(restrained: &YesNo) -> Option<Said> {
        let yes = "a quiet move of the opponent left without an attack and that are still held a turn later";
        only("Restrained", *restrained, yes, "are held in another way")
    }
}

/// Whether the ply that restricted the piece was quiet.
pub enum Quiet {}

impl Field for Quiet {
    type Value = YesNo;
    const NAME: &'static str = "quiet";
    const TEXT: &'static str = "Only spells whose cause neither captured, promoted nor gave check (yes), only those whose cause did (no), or both; a piece held from the beginning has no cause and is in neither.";
    const NARROWS: Narrows = Narrows::Restricted;

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    /// A restrained piece was restrained by a quiet move.
    fn condition(quiet: &YesNo, rows: AskedRows) -> Condition<'_> {
        match rows {
            AskedRows::RestrainedTurns => Condition::known(*quiet != YesNo::No),
            _ => is("quiet", *quiet),
        }
    }

    fn said(quiet: &YesNo) -> Option<Said> {
        let (yes, no) = (
            "a quiet move restricted",
            "a capture, promotion or check restricted",
        );
        only("Cause quiet", *quiet, yes, no)
    }
}

/// Safe squares the cause took from the piece, at least.
pub enum SquaresTaken {}

impl Field for SquaresTaken {
    type Value = Option<u8>;
    const NAME: &'static str = "squares_taken";
    const TEXT: &'static str = "Safe squares that the cause took from the piece itself (definitions, section 6), at least; any number where not given.";
    const NARROWS: Narrows = Narrows::Restricted;

    fn shape() -> impl Shape<Value = Option<u8>> {
        Optional(number(1..=28))
    }

    fn default() -> Option<u8> {
        None
    }

    fn condition(taken: &Option<u8>, rows: AskedRows) -> Condition<'_> {
        let column = match rows {
            AskedRows::RestrainedTurns => "restrained_taken",
            _ => "squares_taken",
        };
        taken.map_or(Condition::Always, |least| {
            Condition::AtLeast(column, u64::from(least))
        })
    }

    fn said(taken: &Option<u8>) -> Option<Said> {
        taken.map(|least| Said {
            name: "Squares taken at once",
            words: format!("{least} at least"),
        })
    }
}

/// Whether pawns shut the bishop's way.
pub enum Wedge {}

impl Field for Wedge {
    type Value = YesNo;
    const NAME: &'static str = "wedge";
    const TEXT: &'static str = "Only bishops behind a wedge of pawns (definitions, section 6) (yes), only other bishops (no), or all pieces.";
    const NARROWS: Narrows = Narrows::Restricted;

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    fn condition(wedge: &YesNo, _: AskedRows) -> Condition<'_> {
        is("wedge", *wedge)
    }

    fn said(wedge: &YesNo) -> Option<Said> {
        let (yes, no) = ("stand behind one", "are bishops and stand behind none");
        only("Wedge of pawns", *wedge, yes, no)
    }

    fn after_kind(wedge: &YesNo) -> Option<String> {
        wedge.wanted().map(|wanted| match wanted {
            true => "behind a wedge of pawns".to_owned(),
            false => "not behind a wedge of pawns".to_owned(),
        })
    }
}
