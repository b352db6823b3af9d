//! Which pieces: kind, moved or not.

use hobble_terms::Kind;

use super::{any_of, is, only};
use crate::asked_rows::AskedRows;
use crate::fields::shape::{word, words};
use crate::filter::Condition;
use crate::terms::YesNo;

crate::fields! {
    /// Kinds of piece looked at.
    Kinds("kinds"): Vec<Kind> = Kind::ALL.to_vec(), in words().not_empty("name at least one kind of piece") => {
        condition(kinds, _): if kinds.len() < Kind::ALL.len() {
            any_of("kind", kinds)
        } else {
            Condition::Always
        },
    };

    /// Only pieces that have moved (yes), only pieces that have not (no), or both.
    Developed("developed"): YesNo = YesNo::Any, in word() => {
        given(beside): beside.developed.map(|wanted| format!("\"{wanted}\"")),
        // The table `turns` has developed pieces alone.
        condition(developed, rows): match rows {
            AskedRows::Spells | AskedRows::Exposure => is("developed", *developed),
            _ => Condition::known(*developed != YesNo::No),
        },
        said(developed): only("Developed", *developed, "have moved", "have not moved"),
    };
}
