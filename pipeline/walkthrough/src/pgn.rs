//! A walkthrough as PGN: the game, with comments in words at the moves that mattered. Written
//! after the PGN standard's export format (section 3.2; cited from memory).

use std::fmt::Write as _;

use hobble_report::plain_short;
use shakmaty::{Color, Position as _};

use crate::Walkthrough;
use crate::moments::Rule;

/// Longest line in characters.
const WIDTH: usize = 79;

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

/// A comment word by word; a brace would end it early, a bracket may be taken for a command.
fn comment(words: &mut Vec<String>, text: &str) {
    let text: String = text
        .chars()
        .map(|c| match c {
            '{' | '[' => '(',
            '}' | ']' => ')',
            c => c,
        })
        .collect();
    let mut inner: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
    if let Some(first) = inner.first_mut() {
        first.insert(0, '{');
    }
    if let Some(last) = inner.last_mut() {
        last.push('}');
    }
    words.extend(inner);
}

fn tag(out: &mut String, name: &str, value: &str) {
    let value = plain_short(value)
        .replace('\\', "\\\\")
        .replace('"', "\\\"");
    let _ = writeln!(out, "[{name} \"{value}\"]");
}

fn wrap(out: &mut String, words: &[String]) {
    let mut width = 0;
    for word in words {
        let length = word.chars().count();
        if width > 0 && width + 1 + length > WIDTH {
            out.push('\n');
            width = 0;
        }
        if width > 0 {
            out.push(' ');
            width += 1;
        }
        out.push_str(word);
        width += length;
    }
    out.push_str("\n\n");
}
