//! What happened, in plain words.

use hobble_report::number::{list, small};
use hobble_terms::kind::unit_name;
use hobble_tracks::roster::Slot;
use shakmaty::{Bitboard, Color, Square};

use crate::follow::Followed;

/// Squares as `a6, b5 and d7`.
pub fn squares(set: Bitboard) -> String {
    let names: Vec<String> = set.into_iter().map(|square| square.to_string()).collect();
    list(&names)
}

/// Squares one by one.
pub fn names(set: Bitboard) -> Vec<String> {
    set.into_iter().map(|square| square.to_string()).collect()
}

/// `one safe square`, `three safe squares`, `no safe square`.
pub fn safe_squares(count: usize) -> String {
    match count {
        0 => "no safe square".to_owned(),
        1 => "one safe square".to_owned(),
        more => format!("{} safe squares", small(more as u64)),
    }
}

/// `one turn`, `nine turns`.
pub fn turns(count: usize) -> String {
    let s = if count == 1 { "" } else { "s" };
    format!("{} turn{s}", small(count as u64))
}

/// What is left to a piece: `no safe square`, `one safe square (d7)`,
/// `two safe squares (a6 and d7)`.
pub fn left(set: Bitboard) -> String {
    let count = safe_squares(set.count());
    if set.is_empty() {
        count
    } else {
        format!("{count} ({})", squares(set))
    }
}

/// `White`, `Black`.
pub const fn side(color: Color) -> &'static str {
    match color {
        Color::White => "White",
        Color::Black => "Black",
    }
}

/// `the knight on b8`.
pub fn unit_on(game: &Followed, slot: Slot, square: Square) -> String {
    format!(
        "the {} on {square}",
        unit_name(game.beings[usize::from(slot)].kind)
    )
}

/// The unit where it stands at a position.
pub fn unit_at(game: &Followed, slot: Slot, position: usize) -> String {
    unit_on(game, slot, game.square_at(slot, position))
}

/// The text with its first letter a capital.
pub use hobble_report::number::capital;
