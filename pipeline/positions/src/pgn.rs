//! The games of positions as PGN, each with a comment at its position. Written after the PGN standard's
//! export format (section 3.2; from memory).

use hobble_examples::pgn::{movetext, tags};
use hobble_report::pgn_text::wrap;

use crate::answer::Position;
use crate::report::caption;

/// Positions, game after game; empty where there are none.
pub fn pgn(positions: &[Position]) -> String {
    let mut out = String::new();
    for position in positions {
        let game = &position.game;
        let start = position.start_fen.as_deref();
        tags(&mut out, game, &game.result, start);
        let comments = [(position.ply, caption(position))];
        let mut words = movetext(&position.moves, start, &comments);
        words.push(game.result.clone());
        wrap(&mut out, &words);
    }
    out
}
