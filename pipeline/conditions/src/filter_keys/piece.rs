//! Which pieces: kind, how they stand, what attacks and defends them.

use hobble_terms::{Kind, Table};

use super::{any_of, is, only};
use crate::fields::shape::{Optional, Shape, number, word, words};
use crate::fields::{Field, Said};
use crate::filter::Condition;
use crate::terms::YesNo;

/// Kinds of piece.
pub enum Kinds {}

impl Field for Kinds {
    type Value = Vec<Kind>;
    const NAME: &'static str = "kinds";
    const TEXT: &'static str = "Kinds of piece looked at.";

    fn shape() -> impl Shape<Value = Vec<Kind>> {
        words().not_empty("name at least one kind of piece")
    }

    fn default() -> Vec<Kind> {
        Kind::ALL.to_vec()
    }

    fn condition(kinds: &Vec<Kind>, _: Table) -> Condition<'_> {
        if kinds.len() < Kind::ALL.len() {
            any_of("kind", kinds)
        } else {
            Condition::Always
        }
    }
}

/// Whether the piece had moved.
pub enum Developed {}

impl Field for Developed {
    type Value = YesNo;
    const NAME: &'static str = "developed";
    const TEXT: &'static str =
        "Only pieces that have moved (yes), only pieces that have not (no), or both.";

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    fn condition(developed: &YesNo, _: Table) -> Condition<'_> {
        is("developed", *developed)
    }

    fn said(developed: &YesNo) -> Option<Said> {
        only("Developed", *developed, "have moved", "have not moved")
    }
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

    fn condition(attacked: &YesNo, table: Table) -> Condition<'_> {
        match (table, attacked.wanted()) {
            (_, None) => Condition::Always,
            (Table::Spells, Some(wanted)) => Condition::Empty("attacked_by", !wanted),
            (_, Some(wanted)) => Condition::Is("attacked", wanted),
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

    fn condition(defended: &YesNo, _: Table) -> Condition<'_> {
        is("defended", *defended)
    }

    fn said(defended: &YesNo) -> Option<Said> {
        only("Defended", *defended, "are defended", "are not defended")
    }
}

/// Good squares, at most.
pub enum GoodSquares {}

impl Field for GoodSquares {
    type Value = Option<u8>;
    const NAME: &'static str = "good";
    const TEXT: &'static str = "Good squares (definitions, section 4) at the start, at most; any number where not given. Free turns cannot be matched by it.";

    fn shape() -> impl Shape<Value = Option<u8>> {
        Optional(number(0..=64))
    }

    fn default() -> Option<u8> {
        None
    }

    fn condition(good: &Option<u8>, table: Table) -> Condition<'_> {
        match (table, good) {
            (Table::Spells, Some(most)) => Condition::AtMost("good", u64::from(*most)),
            _ => Condition::Always,
        }
    }

    fn said(good: &Option<u8>) -> Option<Said> {
        good.map(|most| Said {
            name: "Good squares",
            words: format!("{most} at most"),
        })
    }
}
