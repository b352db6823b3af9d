//! What is counted, and how far ahead.

use hobble_terms::Outcome;

use crate::fields::Field;
use crate::fields::shape::{Horizon, Shape, word};

/// Horizon in moves.
pub enum Within {}

impl Field for Within {
    type Value = u32;
    const NAME: &'static str = "within";
    const TEXT: &'static str = "Horizon in moves.";

    fn shape() -> impl Shape<Value = u32> {
        Horizon
    }

    fn default() -> u32 {
        10
    }
}

/// What is counted.
pub enum Counted {}

impl Field for Counted {
    type Value = Outcome;
    const NAME: &'static str = "outcome";
    const TEXT: &'static str =
        "What is counted (definitions, section 7); captured is lost, traded or sold.";

    fn shape() -> impl Shape<Value = Outcome> {
        word()
    }

    fn default() -> Outcome {
        Outcome::Lost
    }
}
