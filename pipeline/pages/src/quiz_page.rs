//! A quiz as a page to click through, and as a sheet to print with the answers apart.
//!
//! The page needs script to show one position at a time; without it all stand one below the other,
//! each with its answer to be opened.

use anyhow::Result;
use hobble_quiz::{Position, Quiz, words};
use hobble_report::number::{at_most, counted};
use hobble_report::plain_short;
use serde::Serialize;

use crate::game_page::key;
use crate::html::{FactView, Sign};
use crate::script::Script;
use crate::style::style;
use crate::task_view::TaskView;
use crate::templates::fill;

/// The script that shows one position at a time.
const SCRIPT: &str = include_str!("templates/quiz.js");

/// The quiz as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where a position or square cannot be read, naming it.
pub fn quiz_page(quiz: &Quiz) -> Result<String> {
    let page = Page {
        view: View::of(quiz)?,
        script: Script::of(&[SCRIPT]),
    };
    fill("quiz.html", &page)
}

/// The quiz as one HTML sheet to print.
///
/// # Errors
///
/// Where a position or square cannot be read, naming it.
pub fn quiz_sheet(quiz: &Quiz) -> Result<String> {
    fill("quiz-sheet.html", &View::of(quiz)?)
}

#[derive(Serialize)]
struct Page {
    #[serde(flatten)]
    view: View,
    #[serde(flatten)]
    script: Script,
}

#[derive(Serialize)]
struct View {
    style: String,
    title: String,
    k: String,
    asked: Vec<FactView>,
    notes: Vec<String>,
    key: Vec<Sign>,
    questions: Vec<TaskView>,
    rules: Vec<String>,
    hobble: String,
    definitions: u32,
}

impl View {
    fn of(quiz: &Quiz) -> Result<View> {
        let questions = (1..).zip(&quiz.positions).map(question);
        let said = quiz.wanted.said().into_iter().map(|said| FactView {
            name: said.name.to_owned(),
            text: plain_short(&said.words),
        });
        Ok(View {
            style: style(),
            title: counted(quiz.positions.len() as u64, "position"),
            k: squares_left(&quiz.positions),
            asked: said.collect(),
            notes: quiz.notes.clone(),
            key: key(),
            questions: questions.collect::<Result<_>>()?,
            rules: quiz.rules.clone(),
            hobble: quiz.hobble.clone(),
            definitions: quiz.definitions,
        })
    }
}

fn question((number, position): (usize, &Position)) -> Result<TaskView> {
    let view = TaskView::new(number, &position.task)?;
    Ok(TaskView {
        difficulty: words::difficulty(&position.difficulty),
        answers: words::answers(position),
        ..view
    })
}

/// How many squares the answer may leave, by kind where they differ.
fn squares_left(positions: &[Position]) -> String {
    let mut least = positions.iter().map(|position| position.k);
    match least.next() {
        Some(k) if least.all(|other| other == k) => at_most(k.into(), "safe square"),
        _ => "one safe square at most (a rook or queen: two)".to_owned(),
    }
}
