//! What is counted, and how far ahead.

use hobble_terms::{Outcome, SpellEnd};

use super::{any_of, listed};
use crate::asked_rows::{AskedRows, Narrows};
use crate::fields::shape::{Horizon, one_of, word, words};
use crate::filter::Condition;

crate::fields! {
    /// Horizon in moves.
    Within("within"): u32 = 10, in Horizon => {
        given(beside): beside.within.map(|moves| moves.to_string()),
    };

    /// What is counted (definitions, section 7); captured is lost, traded or sold.
    Counted("outcome"): Outcome = Outcome::Lost, in word();

    /// How the spell ended (definitions, section 6); empty for anything.
    Ends("ended"): Vec<SpellEnd> = Vec::new(), in words() => {
        narrows: Narrows::Restricted,
        condition(ends, rows): match rows {
            AskedRows::Spells => any_of("ended", ends),
            _ => Condition::Always,
        },
        said(ends): listed("Ended", ends),
    };

    /// What is counted (definitions, section 7); captured is lost, traded or sold.
    LostOrCaptured("outcome"): Outcome = Outcome::Lost, in one_of(&[Outcome::Lost, Outcome::Captured]);
}
