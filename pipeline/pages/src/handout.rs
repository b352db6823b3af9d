//! The handout of a training claim, for paper: the idea, the games, a quiz, and its answers
//! on sheets of their own.

use anyhow::Result;
use hobble_claim::ClaimAnswer;
use hobble_claim::report::{caution, example_games};
use hobble_report::number::at_most;
use hobble_report::{paragraphs, plain};
use serde::Serialize;

use crate::board_view::BoardView;
use crate::html::{GameView, Sign, game_views, key};
use crate::style::style;
use crate::task_view::TaskView;
use crate::templates::fill;

/// The handout as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where a position or square cannot be read, naming it.
pub fn handout(answer: &ClaimAnswer) -> Result<String> {
    let games = example_games(&answer.examples);
    let questions = (1..)
        .zip(&answer.quiz)
        .map(|(number, task)| TaskView::new(number, task))
        .collect::<Result<_>>()?;
    fill(
        "handout.html",
        &View {
            style: style(),
            title: plain(&answer.claim.title),
            text: paragraphs(&answer.claim.text)
                .iter()
                .map(|text| plain(text))
                .collect(),
            verdict: plain(&answer.verdict.to_string()),
            caution: caution(answer).unwrap_or_default(),
            games: game_views(&games, BoardView::new)?,
            questions,
            k: at_most(answer.claim.k.into(), "safe square"),
            key: key(&games),
            hobble: plain(&answer.hobble),
            definitions: answer.definitions,
        },
    )
}

#[derive(Serialize)]
struct View {
    style: String,
    title: String,
    text: Vec<String>,
    verdict: String,
    caution: &'static str,
    games: Vec<GameView>,
    questions: Vec<TaskView>,
    k: String,
    key: Vec<Sign>,
    hobble: String,
    definitions: u32,
}
