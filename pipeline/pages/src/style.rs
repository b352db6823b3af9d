//! The style sheet of every page.

use crate::palette;

/// The house colours and the house style.
pub fn style() -> String {
    format!("{}{}", palette::css(), include_str!("templates/house.css"))
}

/// What pages add that have a board drawn by script.
pub(crate) const BOARD_STYLE: &str = include_str!("templates/board.css");

/// What pages add on which a reader chooses among positions.
pub(crate) const CHOOSE_STYLE: &str = include_str!("templates/choose.css");

/// What a page adds on which a claim's terms can be changed.
pub(crate) const TERMS_STYLE: &str = include_str!("templates/terms.css");
