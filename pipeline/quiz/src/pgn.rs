//! A quiz as PGN: each position a game of its own, with the question as a comment, the answer as
//! its move, and the line played. The result is left open: what is shown is not a whole game.

use hobble_examples::pgn::tags;
use hobble_examples::task_words;
use hobble_report::pgn_text::{comment, wrap};

use crate::quiz::{Position, Quiz};
use crate::words;

/// The positions, one after the other; empty where there are none.
pub fn pgn(quiz: &Quiz) -> String {
    let mut out = String::new();
    for (number, position) in (1..).zip(&quiz.positions) {
        one(&mut out, number, position);
    }
    out
}

fn one(out: &mut String, number: usize, position: &Position) {
    let task = &position.task;
    tags(out, &task.game, "*", Some(&task.fen));
    let mut moves = Vec::new();
    let asked = words::question(position);
    let terms = words::terms(position);
    comment(&mut moves, &format!("Position {number}: {asked} {terms}."));
    answer(&mut moves, position);
    moves.push("*".to_owned());
    wrap(out, &moves);
}

/// The answer with its comment. Where it was played the line goes on, else it is a variation.
fn answer(moves: &mut Vec<String>, position: &Position) {
    let task = &position.task;
    let Some(answer) = task.answer() else { return };
    moves.extend(split(&answer.label));
    let left = task_words::left(&answer.safe);
    let mut lines = vec![format!("{} and {left}", words::taken(position))];
    lines.extend(task.near.iter().map(task_words::near_miss));
    lines.push(words::difficulty(&position.difficulty));
    comment(moves, &format!("{}.", lines.join(". ")));
    let line: Vec<String> = position.line.split(' ').flat_map(split).collect();
    let end = format!("{}. {}", words::became(position), words::game(position));
    if answer.played {
        let first = split(&answer.label).count();
        moves.extend(line.into_iter().skip(first));
        comment(moves, &end);
    } else {
        let mut variation = line;
        if let Some(first) = variation.first_mut() {
            first.insert(0, '(');
        }
        moves.extend(variation);
        comment(moves, &format!("As played. {end}"));
        if let Some(last) = moves.last_mut() {
            last.push(')');
        }
    }
}

/// Number and move as words: `15.` and `g4`, `15...` and `Bg4`.
fn split(label: &str) -> impl Iterator<Item = String> {
    let label = label.replace("...", "... ");
    let words: Vec<String> = label.split_whitespace().map(str::to_owned).collect();
    words.into_iter()
}
