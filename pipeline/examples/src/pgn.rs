//! The tags and the moves of a game in PGN.

use hobble_report::pgn_text::{comment, tag};

use crate::reference::GameReference;

/// Writes the tags of a game with a result, ratings where they are known, and after them the start
/// position, where it is not the usual one. Seven tags come first, as the standard has them
/// (section 8.1.1; cited from memory).
pub fn tags(out: &mut String, game: &GameReference, result: &str, fen: Option<&str>) {
    let known = |value: &Option<String>| value.clone().unwrap_or_else(|| "?".to_owned());
    let date = game.date.as_deref().unwrap_or("????.??.??");
    tag(out, "Event", &known(&game.event));
    tag(out, "Site", "?");
    tag(out, "Date", date);
    tag(out, "Round", &known(&game.round));
    tag(out, "White", &known(&game.white));
    tag(out, "Black", &known(&game.black));
    tag(out, "Result", result);
    for (name, rating) in [
        ("WhiteElo", game.white_rating),
        ("BlackElo", game.black_rating),
    ] {
        if let Some(rating) = rating {
            tag(out, name, &rating.to_string());
        }
    }
    tag(out, "Annotator", "hobble");
    if let Some(fen) = fen {
        tag(out, "SetUp", "1");
        tag(out, "FEN", fen);
    }
    out.push('\n');
}

/// The words of a game's moves in SAN, from the start position given where it is not the usual one, with
/// comments after so many plies; those after none come first.
pub fn movetext(moves: &[String], start: Option<&str>, comments: &[(u32, String)]) -> Vec<String> {
    let mut number = 1;
    let mut white = true;
    if let Some(fen) = start {
        let mut fields = fen.split(' ');
        white = fields.nth(1) != Some("b");
        number = fields.nth(3).and_then(|n| n.parse().ok()).unwrap_or(1);
    }
    let mut words: Vec<String> = Vec::new();
    let put = |words: &mut Vec<String>, ply: u32| {
        let here = comments.iter().filter(|(at, _)| *at == ply);
        here.map(|(_, text)| comment(words, text)).count() > 0
    };
    put(&mut words, 0);
    let mut numbered = true;
    for (ply, san) in (1..).zip(moves) {
        if white {
            words.push(format!("{number}."));
        } else if numbered {
            words.push(format!("{number}..."));
        }
        words.push(san.clone());
        numbered = put(&mut words, ply);
        if !white {
            number += 1;
        }
        white = !white;
    }
    words
}
