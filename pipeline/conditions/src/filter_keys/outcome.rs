//! What is counted, and how far ahead.

use hobble_terms::Outcome;

use crate::fields::shape::{Horizon, one_of, word};

crate::fields! {
    /// Horizon in moves.
    Within("within"): u32 = 10, in Horizon => {
        given(beside): beside.within.map(|moves| moves.to_string()),
    };

    /// What is counted (definitions, section 7); captured is lost, traded or sold.
    Counted("outcome"): Outcome = Outcome::Lost, in word();

    /// What is counted (definitions, section 7); captured is lost, traded or sold.
    LostOrCaptured("outcome"): Outcome = Outcome::Lost, in one_of(&[Outcome::Lost, Outcome::Captured]);
}
