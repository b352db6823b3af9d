//! How the piece is restricted: safe squares, cause, mover, turns, restrained or merely held.

use hobble_terms::{CauseKind, MAX_K, Table};

use super::{any_of, is, listed, only};
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

    fn shape() -> impl Shape<Value = u8> {
        number(0..=i64::from(MAX_K))
    }

    fn default() -> u8 {
        2
    }

    /// Spells are recorded from the least to the most `k` they are spells at. In the cube, `k`
    /// parts held from free turns, and both are needed.
    fn condition(k: &u8, table: Table) -> Condition<'_> {
        match table {
            Table::Spells => Condition::Between("k_low", u64::from(*k), "k_high"),
            _ => Condition::Always,
        }
    }
}

/// Turns a spell has lasted, at least.
pub enum Turns {}

impl Field for Turns {
    type Value = u32;
    const NAME: &'static str = "turns";
    const TEXT: &'static str = "Turns of its owner the piece must have been held for, at least; what follows is counted from the last of these.";

    fn shape() -> impl Shape<Value = u32> {
        number(1..=50)
    }

    fn default() -> u32 {
        1
    }

    fn condition(turns: &u32, table: Table) -> Condition<'_> {
        match table {
            Table::Spells => Condition::AtLeast("turns", u64::from(*turns)),
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

    fn shape() -> impl Shape<Value = Vec<CauseKind>> {
        words().by_alphabet()
    }

    fn default() -> Vec<CauseKind> {
        Vec::new()
    }

    fn condition(causes: &Vec<CauseKind>, table: Table) -> Condition<'_> {
        match table {
            Table::Spells => any_of("cause", causes),
            _ => Condition::Always,
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

    fn shape() -> impl Shape<Value = MovedBy> {
        word()
    }

    fn default() -> MovedBy {
        MovedBy::Any
    }

    fn condition(by: &MovedBy, table: Table) -> Condition<'_> {
        let units = match (table, by) {
            (Table::Spells, MovedBy::Pawn) => vec!["pawn"],
            (Table::Spells, MovedBy::Piece) => vec!["knight", "bishop", "rook", "queen", "king"],
            _ => return Condition::Always,
        };
        Condition::OneOf("cause_kind", units)
    }
}

/// Whether the piece is restrained.
pub enum Restrained {}

impl Field for Restrained {
    type Value = YesNo;
    const NAME: &'static str = "restrained";
    const TEXT: &'static str = "Only restrained pieces (yes), only pieces held in another way (no), or both (definitions, section 6). What follows a restraint is counted from its second turn, the landmark.";

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    fn condition(restrained: &YesNo, table: Table) -> Condition<'_> {
        match table {
            Table::Spells => is("restrained", *restrained),
            _ => Condition::Always,
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
    const TEXT: &'static str = "Only spells whose cause neither captured, promoted nor gave check (yes), only others (no), or both.";

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    fn condition(quiet: &YesNo, table: Table) -> Condition<'_> {
        match table {
            Table::Spells => is("quiet", *quiet),
            _ => Condition::Always,
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

    fn shape() -> impl Shape<Value = Option<u8>> {
        Optional(number(1..=28))
    }

    fn default() -> Option<u8> {
        None
    }

    fn condition(taken: &Option<u8>, table: Table) -> Condition<'_> {
        match (table, taken) {
            (Table::Spells, Some(least)) => Condition::AtLeast("squares_taken", u64::from(*least)),
            _ => Condition::Always,
        }
    }

    fn said(taken: &Option<u8>) -> Option<Said> {
        taken.map(|least| Said {
            name: "Squares taken at once",
            words: format!("{least} at least"),
        })
    }
}
