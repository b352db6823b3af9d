//! The handout of a training claim, for paper: the idea, the games, a quiz, and its answers
//! on sheets of their own.

use anyhow::{Context as _, Result};
use hobble_questions::claim::ClaimAnswer;
use hobble_questions::claim::answer::Quiz;
use serde::Serialize;

use crate::board::Marks;
use crate::claim_page::{BoardView, ExampleView, Sign, color, place, signs};
use crate::page::{all_squares, long, paragraphs, square, style};
use crate::templates::fill;
use crate::text::{capital, list, plain};

/// The handout as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where a position or square cannot be read, naming it.
pub fn handout(answer: &ClaimAnswer) -> Result<String> {
    let examples = answer
        .examples
        .iter()
        .enumerate()
        .map(|(i, example)| ExampleView::new(i + 1, example))
        .collect::<Result<_>>()
        .context("an example cannot be shown")?;
    let questions = (1..)
        .zip(&answer.quiz)
        .map(|(number, quiz)| QuizView::new(number, quiz))
        .collect::<Result<_>>()
        .context("a quiz position cannot be shown")?;
    fill(
        "handout.html",
        &View {
            style: style(),
            title: plain(&answer.claim.title),
            text: paragraphs(&answer.claim.text),
            verdict: long(&answer.verdict),
            association: !answer.verdict.contains("association"),
            examples,
            questions,
            k: match answer.claim.k {
                0 => "no safe square".to_owned(),
                1 => "one safe square at most".to_owned(),
                k => format!("{k} safe squares at most"),
            },
            key: signs(),
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
    association: bool,
    examples: Vec<ExampleView>,
    questions: Vec<QuizView>,
    k: String,
    key: Vec<Sign>,
    hobble: String,
    definitions: u32,
}

#[derive(Serialize)]
struct QuizView {
    number: usize,
    task: String,
    board: BoardView,
    answer: BoardView,
    answers: Vec<String>,
    game: String,
    place: String,
}

impl QuizView {
    fn new(number: usize, quiz: &Quiz) -> Result<QuizView> {
        let to_move = color(&quiz.to_move)?;
        let held = square(&quiz.square)?;
        let owner = if to_move.is_white() { "black" } else { "white" };
        let what = format!("{owner} {} on {}", quiz.kind, quiz.square);
        let asked = Marks {
            held: Some(held),
            ..Marks::default()
        };
        let played = quiz.answers.iter().find(|answer| answer.played);
        let mut shown = Marks {
            held: Some(held),
            safe: all_squares(&quiz.safe)?,
            ..Marks::default()
        };
        if let Some(played) = played {
            shown.arrow = Some((square(&played.from)?, square(&played.to)?));
            shown.safe = all_squares(&played.safe)?;
            let taken: Vec<String> = quiz
                .safe
                .iter()
                .filter(|square| !played.safe.contains(square))
                .cloned()
                .collect();
            shown.taken = all_squares(&taken)?;
        }
        let answers = quiz
            .answers
            .iter()
            .map(|answer| {
                let left = if answer.safe.is_empty() {
                    "leaves no safe square".to_owned()
                } else {
                    format!("leaves {}", list(&answer.safe))
                };
                let played = if answer.played {
                    "played; "
                } else {
                    "as good by the count; "
                };
                format!("{} \u{2013} {played}{left}", plain(&answer.label))
            })
            .collect();
        let board = BoardView::new(
            &format!("quiz-{number}"),
            &format!("Position {number}: {} to move", quiz.to_move),
            &quiz.fen,
            to_move,
            // Its safe squares are part of the task: no dots, and the words say no more.
            &asked,
        )?;
        let words = board
            .words
            .replace(" No square is safe for it.", "")
            .trim_end()
            .to_owned();
        let picture = board.picture.replace(" No square is safe for it.", "");
        Ok(QuizView {
            number,
            task: format!(
                "{} to move. Which move restrains the {what}?",
                capital(&quiz.to_move)
            ),
            board: BoardView {
                words,
                picture,
                ..board
            },
            answer: BoardView::new(
                &format!("solved-{number}"),
                &format!("Answer {number}: the move played and what it took"),
                &quiz.fen,
                to_move,
                &shown,
            )?,
            answers,
            game: plain(&quiz.game.label),
            place: place(&quiz.game),
        })
    }
}
