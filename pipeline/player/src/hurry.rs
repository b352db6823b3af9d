//! How much time a side has left.

/// Who has less time left, in seconds, is hurried.
const HURRIED: f32 = 60.0;

/// Whether a side is hurried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hurry {
    /// With less than a minute left.
    Hurried,
    /// With a minute left or more.
    Unhurried,
}

impl Hurry {
    /// By the seconds left.
    pub fn of(left: f32) -> Hurry {
        if left < HURRIED {
            Hurry::Hurried
        } else {
            Hurry::Unhurried
        }
    }
}
