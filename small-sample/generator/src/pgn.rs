//! Writing games as PGN (export-like: Seven Tag Roster first, lines of at most 79 bytes
//! unless the event writes its games in one line).

use shakmaty::san::SanPlus;
use shakmaty::{Color, Position};

use crate::annotations::Note;
use crate::clock::written;
use crate::game::Game;

/// How an event writes its games down.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Style {
    /// Marks as signs behind the move (`??`) instead of numbers (`$4`).
    pub signs: bool,
    /// Blanks inside the braces of a comment.
    pub airy: bool,
    /// All moves in one line.
    pub one_line: bool,
    /// The clock before the evaluation, in a comment of its own.
    pub apart: bool,
    /// A comment after the last move says how the game ended.
    pub remark: bool,
}

/// Longest line of movetext.
const WIDTH: usize = 79;

/// One game as text, with the blank line after it.
pub fn text(tags: &[(&str, String)], game: &Game, notes: &[Note], style: Style) -> String {
    let mut out = String::new();
    for (name, value) in tags {
        out.push_str(&format!("[{name} \"{}\"]\n", escaped(value)));
    }
    out.push('\n');
    let words = movetext(game, notes, style);
    if style.one_line {
        out.push_str(&words.join(" "));
    } else {
        let mut used = 0;
        for word in words {
            let long = word.chars().count();
            if used > 0 && used + 1 + long > WIDTH {
                out.push('\n');
                used = 0;
            } else if used > 0 {
                out.push(' ');
                used += 1;
            }
            out.push_str(&word);
            used += long;
        }
    }
    out.push_str("\n\n");
    out
}

fn escaped(value: &str) -> String {
    value.replace('\\', "\\\\").replace('"', "\\\"")
}

/// The pieces of the movetext that may not be broken over lines.
fn movetext(game: &Game, notes: &[Note], style: Style) -> Vec<String> {
    let mut words = Vec::new();
    if let Some(preface) = game.preface {
        comment(&mut words, preface, style);
    }
    let mut position = game.start.clone();
    let mut number = position.fullmoves().get();
    let mut mover = position.turn();
    let mut say_number = true;
    let last = game.moves.len().saturating_sub(1);
    for (index, &played) in game.moves.iter().enumerate() {
        if mover == Color::White {
            words.push(format!("{number}."));
        } else if say_number {
            words.push(format!("{number}..."));
        }
        let note = notes.get(index);
        let mark = note.and_then(|note| note.mark);
        let mut san = SanPlus::from_move_and_play_unchecked(&mut position, played).to_string();
        if let Some(mark) = mark
            && style.signs
        {
            san.push_str(mark.sign);
        }
        words.push(san);
        if let Some(mark) = mark
            && !style.signs
        {
            words.push(format!("${}", mark.number));
        }
        say_number = false;
        if let Some(words_after) = note.and_then(|note| note.words.as_deref()) {
            comment(&mut words, words_after, style);
            say_number = true;
        }
        let clock = game
            .clocks
            .get(index)
            .map(|&left| command("clk", &written(left)));
        let eval = note
            .and_then(|note| note.eval.as_deref())
            .map(|eval| command("eval", eval));
        if style.apart {
            for one in [clock, eval].into_iter().flatten() {
                commands(&mut words, &[one], style);
                say_number = true;
            }
        } else {
            let both: Vec<String> = [eval, clock].into_iter().flatten().collect();
            if !both.is_empty() {
                commands(&mut words, &both, style);
                say_number = true;
            }
        }
        if let Some(note) = note
            && !note.line.is_empty()
        {
            variation(&mut words, &note.line, number, mover);
            say_number = true;
        }
        if index == last && style.remark {
            comment(&mut words, game.remark, style);
        }
        if mover == Color::Black {
            number += 1;
        }
        mover = !mover;
    }
    words.push(game.score.token().to_owned());
    words
}

fn command(name: &str, value: &str) -> String {
    format!("[%{name} {value}]")
}

fn commands(words: &mut Vec<String>, commands: &[String], style: Style) {
    if style.airy {
        words.push("{".to_owned());
        words.extend_from_slice(commands);
        words.push("}".to_owned());
    } else {
        words.push(format!("{{{}}}", commands.join(" ")));
    }
}

fn comment(words: &mut Vec<String>, said: &str, style: Style) {
    if style.airy {
        words.push("{".to_owned());
        words.extend(said.split(' ').map(str::to_owned));
        words.push("}".to_owned());
    } else {
        let mut inner: Vec<String> = said.split(' ').map(str::to_owned).collect();
        if let Some(first) = inner.first_mut() {
            first.insert(0, '{');
        }
        if let Some(last) = inner.last_mut() {
            last.push('}');
        }
        words.extend(inner);
    }
}

fn variation(words: &mut Vec<String>, line: &[String], number: u32, mover: Color) {
    let (mut number, mut mover) = (number, mover);
    let mut inner = Vec::new();
    for (index, san) in line.iter().enumerate() {
        if mover == Color::White {
            inner.push(format!("{number}."));
        } else if index == 0 {
            inner.push(format!("{number}..."));
        }
        inner.push(san.clone());
        if mover == Color::Black {
            number += 1;
        }
        mover = !mover;
    }
    if let Some(first) = inner.first_mut() {
        first.insert(0, '(');
    }
    if let Some(last) = inner.last_mut() {
        last.push(')');
    }
    words.extend(inner);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_and_backslashes_are_escaped() {
        assert_eq!(escaped(r#"the "Old" \ Hall"#), r#"the \"Old\" \\ Hall"#);
    }

    #[test]
    fn a_line_of_black_starts_with_dots() {
        let mut words = Vec::new();
        let line = ["Nf6", "e5", "Nd5"].map(str::to_owned);
        variation(&mut words, &line, 7, Color::Black);
        assert_eq!(words.join(" "), "(7... Nf6 8. e5 Nd5)");
    }

    #[test]
    fn comments_hold_together_in_both_styles() {
        let style = |airy| Style {
            signs: false,
            airy,
            one_line: false,
            apart: false,
            remark: false,
        };
        for (airy, wanted) in [(false, "{Too quick.}"), (true, "{ Too quick. }")] {
            let mut words = Vec::new();
            comment(&mut words, "Too quick.", style(airy));
            assert_eq!(words.join(" "), wanted);
        }
    }
}
