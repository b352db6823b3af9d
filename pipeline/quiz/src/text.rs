//! A quiz as text: the positions, and the answers below.

use std::fmt::Write as _;

use crate::quiz::Quiz;
use crate::words;

/// The quiz as text.
pub fn text(quiz: &Quiz) -> String {
    let mut out = String::from("Which move restrains this piece?\n\n");
    for rule in &quiz.rules {
        let _ = writeln!(out, "{rule}\n");
    }
    for said in quiz.wanted.said() {
        let _ = writeln!(out, "{}: {}", said.name, said.words);
    }
    for (number, position) in (1..).zip(&quiz.positions) {
        let _ = writeln!(
            out,
            "\n{number:3}. {}\n     {}\n     {}",
            words::question(position),
            words::difficulty(&position.difficulty),
            position.task.fen
        );
    }
    if !quiz.positions.is_empty() {
        out.push_str("\nAnswers\n");
    }
    for (number, position) in (1..).zip(&quiz.positions) {
        let _ = writeln!(out, "\n{number:3}. {}", words::game(position));
        for line in words::answers(position) {
            let _ = writeln!(out, "     {line}");
        }
    }
    for note in &quiz.notes {
        let _ = writeln!(out, "\n{note}");
    }
    out
}
