//! The example games as PGN, with comments at the restraining move, the end of the spell and
//! the capture. Written after the PGN standard's export format (section 3.2; cited from
//! memory): seven tags, lines of 80 characters at most.

use std::fmt::Write as _;

use super::answer::ClaimExample;

const WIDTH: usize = 79;

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
    let unknown = || "?".to_owned();
    let tags = [
        ("Event", game.event.clone().unwrap_or_else(unknown)),
        ("Site", unknown()),
        (
            "Date",
            game.date.clone().unwrap_or_else(|| "????.??.??".to_owned()),
        ),
        ("Round", game.round.clone().unwrap_or_else(unknown)),
        ("White", game.white.clone().unwrap_or_else(unknown)),
        ("Black", game.black.clone().unwrap_or_else(unknown)),
        ("Result", game.result.clone()),
    ];
    for (name, value) in tags {
        tag(out, name, &value);
    }
    for (name, rating) in [
        ("WhiteElo", game.white_rating),
        ("BlackElo", game.black_rating),
    ] {
        if let Some(rating) = rating {
            tag(out, name, &rating.to_string());
        }
    }
    tag(out, "Annotator", "hobble");
    let mut number = 1;
    let mut white = true;
    if let Some(fen) = &example.start_fen {
        tag(out, "SetUp", "1");
        tag(out, "FEN", fen);
        let mut fields = fen.split(' ');
        white = fields.nth(1) != Some("b");
        number = fields.nth(3).and_then(|n| n.parse().ok()).unwrap_or(1);
    }
    out.push('\n');
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
    let mut line = String::new();
    for word in words {
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > WIDTH {
            let _ = writeln!(out, "{line}");
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(&word);
    }
    let _ = writeln!(out, "{line}\n");
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

/// A comment word by word; a brace would end it early, a bracket may be taken for a command.
fn comment(words: &mut Vec<String>, text: &str) {
    let text: String = text
        .chars()
        .map(|c| match c {
            '{' | '[' => '(',
            '}' | ']' => ')',
            c if c.is_control() => ' ',
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
    let value: String = value
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let value = value.replace('\\', "\\\\").replace('"', "\\\"");
    let _ = writeln!(out, "[{name} \"{value}\"]");
}
