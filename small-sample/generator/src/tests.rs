//! What the tests of several modules need.

use shakmaty::fen::Fen;
use shakmaty::{CastlingMode, Chess};

/// The position of a FEN.
pub fn at(fen: &str) -> Chess {
    fen.parse::<Fen>()
        .expect("the test's FEN reads")
        .into_position(CastlingMode::Standard)
        .expect("the test's position is possible")
}
