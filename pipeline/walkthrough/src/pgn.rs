//! A walkthrough as PGN: the game, with comments in words at the moves that mattered. Written
//! after the PGN standard's export format (section 3.2; cited from memory).

use hobble_report::pgn_text::{comment, wrap};
use hobble_report::{pgn_text, plain_short};
use shakmaty::{Color, Position as _};

use crate::Walkthrough;
use crate::moments::Rule;

/// A walkthrough as PGN.
pub fn pgn(walkthrough: &Walkthrough) -> String {
    let mut out = String::new();
    tags(&mut out, walkthrough);
    out.push('\n');
    let mut words = Vec::new();
    moves(&mut words, walkthrough);
    words.push(walkthrough.game.heading.result.name().to_owned());
    wrap(&mut out, &words);
    out
}

fn tags(out: &mut String, walkthrough: &Walkthrough) {
    let heading = &walkthrough.game.heading;
    let or = |value: &Option<String>, none: &str| value.clone().unwrap_or_else(|| none.to_owned());
    tag(out, "Event", &or(&heading.event, "?"));
    tag(out, "Site", &or(&heading.site, "?"));
    tag(out, "Date", &or(&heading.date, "????.??.??"));
    tag(out, "Round", &or(&heading.round, "?"));
    tag(out, "White", &or(&heading.white, "?"));
    tag(out, "Black", &or(&heading.black, "?"));
    tag(out, "Result", heading.result.name());
    for (name, rating) in [
        ("WhiteElo", heading.white_rating),
        ("BlackElo", heading.black_rating),
    ] {
        if let Some(rating) = rating {
            tag(out, name, &rating.to_string());
        }
    }
    if heading.variant == hobble_terms::Variant::Chess960 {
        tag(out, "Variant", "Chess960");
    }
    tag(out, "Annotator", "hobble");
    if let Some(fen) = &heading.start_fen {
        tag(out, "SetUp", "1");
        tag(out, "FEN", fen);
    }
}

fn moves(words: &mut Vec<String>, walkthrough: &Walkthrough) {
    let game = &walkthrough.game;
    let mut numbered = false;
    for (nth, played) in game.plies.iter().enumerate() {
        let number = game.positions[nth].chess.fullmoves();
        match played.side {
            Color::White => words.push(format!("{number}.")),
            Color::Black if !numbered => words.push(format!("{number}...")),
            Color::Black => {}
        }
        words.push(played.san.clone());
        numbered = played.side == Color::White;
        for moment in walkthrough
            .moments
            .iter()
            .filter(|moment| moment.ply == nth + 1)
        {
            let rules: Vec<&str> = moment.rules.iter().copied().map(Rule::name).collect();
            comment(words, &format!("{}: {}", rules.join("; "), moment.text));
            numbered = false;
        }
    }
}

fn tag(out: &mut String, name: &str, value: &str) {
    pgn_text::tag(out, name, &plain_short(value));
}
