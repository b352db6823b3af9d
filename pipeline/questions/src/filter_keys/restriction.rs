//! How the piece is restricted: safe squares, cause, mover, turns.

use hobble_terms::{CauseKind, MAX_K, Table};

use super::{any_of, listed};
use crate::fields::shape::{Shape, number, word, words};
use crate::fields::{Field, Said};
use crate::filter::Condition;
use crate::terms::MovedBy;

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
