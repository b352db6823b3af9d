//! The style sheet of every page.

use crate::palette;

/// The house colours and the house style.
pub fn style() -> String {
    format!("{}{}", palette::css(), include_str!("templates/house.css"))
}
