//! The example games as PGN, with comments at the restraining move, the end of the spell and
//! the capture. Written after the PGN standard's export format (section 3.2; cited from
//! memory): seven tags, lines of 80 characters at most.

use hobble_examples::pgn::tags;
use hobble_report::number::capital;
use hobble_report::pgn_text::{comment, wrap};

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
    let game = &example.game;
    tags(out, game, &game.result, example.start_fen.as_deref());
    let mut number = 1;
    let mut white = true;
    if let Some(fen) = &example.start_fen {
        let mut fields = fen.split(' ');
        white = fields.nth(1) != Some("b");
        number = fields.nth(3).and_then(|n| n.parse().ok()).unwrap_or(1);
    }
    let mut words: Vec<String> = Vec::new();
    let mut after_comment = true;
    let first = format!("{}: {}", capital(example.role.name()), example.caption);
    comment(&mut words, &first);
    for (ply, san) in (1..).zip(&example.moves) {
        if white {
            words.push(format!("{number}."));
        } else if after_comment {
            words.push(format!("{number}..."));
        }
        words.push(san.clone());
        after_comment = false;
        for (_, text) in example.comments.iter().filter(|(at, _)| *at == ply) {
            comment(&mut words, text);
            after_comment = true;
        }
        if !white {
            number += 1;
        }
        white = !white;
    }
    words.push(game.result.clone());
    wrap(out, &words);
}
