//! The example games as PGN, with comments at the restraining move, the end of the spell and
//! the capture. Written after the PGN standard's export format (section 3.2; cited from
//! memory): seven tags, lines of 80 characters at most.

use hobble_examples::pgn::{movetext, tags};
use hobble_report::number::capital;
use hobble_report::pgn_text::wrap;

use super::answer::ClaimExample;

/// Examples, game after game; empty where there are none.
pub fn pgn(examples: &[ClaimExample]) -> String {
    let mut out = String::new();
    for example in examples {
        game(&mut out, example);
    }
    out
}

fn game(out: &mut String, example: &ClaimExample) {
    let (game, start) = (&example.game, example.start_fen.as_deref());
    tags(out, game, &game.result, start);
    let first = format!("{}: {}", capital(example.role.name()), example.caption);
    let mut comments = vec![(0, first)];
    comments.extend(example.comments.iter().cloned());
    let mut words = movetext(&example.moves, start, &comments);
    words.push(game.result.clone());
    wrap(out, &words);
}
