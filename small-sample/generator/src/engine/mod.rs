//! A small play engine of our own, strong enough for club chess to look like chess.

pub mod evaluation;
pub mod level;
pub mod search;
