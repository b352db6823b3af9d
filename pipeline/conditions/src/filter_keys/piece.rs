//! Which pieces: kind, moved or not.

use hobble_terms::Kind;

use super::{any_of, is, only};
use crate::asked_rows::AskedRows;
use crate::fields::shape::{Shape, word, words};
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

    fn condition(kinds: &Vec<Kind>, _: AskedRows) -> Condition<'_> {
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

    /// The table `turns` has developed pieces alone.
    fn condition(developed: &YesNo, rows: AskedRows) -> Condition<'_> {
        match rows {
            AskedRows::Spells | AskedRows::Exposure => is("developed", *developed),
            _ => Condition::known(*developed != YesNo::No),
        }
    }

    fn said(developed: &YesNo) -> Option<Said> {
        only("Developed", *developed, "have moved", "have not moved")
    }
}
