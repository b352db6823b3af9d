//! The handout of a training claim, for paper: the idea, the games, a quiz, and its answers
//! on sheets of their own.

use anyhow::{Context as _, Result};
use hobble_claim::ClaimAnswer;
use hobble_claim::answer::{Miss, NearMiss, Quiz, QuizAnswer};
use hobble_claim::report::{caution, example_games};
use hobble_report::number::{at_most, capital, list};
use hobble_report::{Board, Side, paragraphs, plain, plain_short};
use serde::Serialize;

use crate::board_view::BoardView;
use crate::html::{GameView, Sign, game_views, key};
use crate::style::style;
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
        .map(|(number, quiz)| {
            QuizView::new(number, quiz)
                .with_context(|| format!("position {number} of the quiz cannot be shown"))
        })
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
            games: game_views(&games)?,
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
}

impl QuizView {
    fn new(number: usize, quiz: &Quiz) -> Result<QuizView> {
        let bottom = Side::named(&quiz.to_move)
            .with_context(|| format!("invalid side to move {:?}", quiz.to_move))?;
        let owner = match bottom.other() {
            Side::White => "white",
            Side::Black => "black",
        };
        let asked = Board {
            id: format!("quiz-{number}"),
            label: "",
            title: format!("Position {number}: {} to move", quiz.to_move),
            fen: quiz.fen.clone(),
            fen_before: None,
            bottom,
            held: quiz.square.clone(),
            // To find them is part of the task.
            safe: None,
            taken: Vec::new(),
            arrow: None,
        };
        let solved = solved(number, quiz, &asked);
        Ok(QuizView {
            number,
            task: format!(
                "{} to move. Which move restrains the {owner} {} on {}?",
                capital(&quiz.to_move),
                quiz.kind,
                quiz.square
            ),
            board: BoardView::new(&asked)?,
            answer: BoardView::new(&solved)?,
            answers: quiz
                .answers
                .iter()
                .map(in_words)
                .chain(quiz.near.iter().map(near_in_words))
                .collect(),
            game: plain_short(&quiz.game.label),
        })
    }
}

/// The board of the answer: the move played, what it took and what it left.
fn solved(number: usize, quiz: &Quiz, asked: &Board) -> Board {
    let mut board = Board {
        id: format!("solved-{number}"),
        title: format!("Answer {number}: the move played and what it took"),
        safe: Some(quiz.safe.clone()),
        ..asked.clone()
    };
    if let Some(played) = quiz.answers.iter().find(|answer| answer.played) {
        board.arrow = Some((played.from.clone(), played.to.clone()));
        board.safe = Some(played.safe.clone());
        board.taken = quiz
            .safe
            .iter()
            .filter(|square| !played.safe.contains(square))
            .cloned()
            .collect();
    }
    board
}

fn left(safe: &[String]) -> String {
    if safe.is_empty() {
        "leaves no safe square".to_owned()
    } else {
        format!("leaves {}", list(safe))
    }
}

/// A move that does not restrain the piece, and why.
fn near_in_words(near: &NearMiss) -> String {
    let why = match near.miss {
        Miss::Loud => "is not quiet",
        Miss::GivesAway => "gives something away",
        Miss::Attacks => "attacks the piece",
        Miss::LeavesMore => "leaves more",
    };
    format!(
        "Not {}: it {why}; {}",
        plain_short(&near.label),
        left(&near.safe)
    )
}

fn in_words(answer: &QuizAnswer) -> String {
    let left = left(&answer.safe);
    let played = if answer.played {
        "played"
    } else {
        "restrains it too"
    };
    format!("{} \u{2013} {played}; {left}", plain_short(&answer.label))
}
