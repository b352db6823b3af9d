//! A task on a page: the board that asks, the board of the answer, and the words of both.

use anyhow::{Context as _, Result};
use hobble_examples::task::Task;
use hobble_examples::task_words;
use hobble_report::{Board, Side, plain_short};
use serde::Serialize;

use crate::board_view::BoardView;

/// A task and its answer.
#[derive(Serialize)]
pub(crate) struct TaskView {
    pub number: usize,
    pub task: String,
    /// How hard it is; empty where that is not rated.
    pub difficulty: String,
    pub board: BoardView,
    pub answer: BoardView,
    pub answers: Vec<String>,
    pub game: String,
}

impl TaskView {
    /// # Errors
    ///
    /// Where a position or square cannot be read, naming it.
    pub(crate) fn new(number: usize, task: &Task) -> Result<TaskView> {
        TaskView::read(number, task)
            .with_context(|| format!("position {number} of the quiz cannot be shown"))
    }

    fn read(number: usize, task: &Task) -> Result<TaskView> {
        let asked = Board {
            id: format!("quiz-{number}"),
            title: format!("Position {number}: {} to move", task.to_move),
            ..asking(&task.fen, &task.to_move, &task.square)?
        };
        let solved = solved(number, task, &asked);
        let near = task.near.iter().map(task_words::near_miss);
        Ok(TaskView {
            number,
            task: task_words::question(task),
            difficulty: String::new(),
            board: BoardView::new(&asked)?,
            answer: BoardView::new(&solved)?,
            answers: task
                .answers
                .iter()
                .map(task_words::answer)
                .chain(near)
                .collect(),
            game: plain_short(&task.game.label),
        })
    }
}

/// A board with a piece ringed, whose safe squares are to be found, seen from a side by its name.
///
/// # Errors
///
/// Where there is no such side.
pub(crate) fn asking(fen: &str, bottom: &str, square: &str) -> Result<Board> {
    let bottom = Side::named(bottom).with_context(|| format!("invalid side {bottom:?}"))?;
    Ok(Board {
        id: String::new(),
        label: "",
        title: String::new(),
        fen: fen.to_owned(),
        fen_before: None,
        bottom,
        held: square.to_owned(),
        safe: None,
        taken: Vec::new(),
        arrow: None,
    })
}

/// The board of the answer: the move, what it takes and what it leaves.
fn solved(number: usize, task: &Task, asked: &Board) -> Board {
    let answer = task.answer();
    Board {
        id: format!("solved-{number}"),
        title: format!("Answer {number}: the move and what it takes"),
        safe: Some(answer.map_or_else(|| task.safe.clone(), |answer| answer.safe.clone())),
        taken: task.taken(),
        arrow: answer.map(|answer| (answer.from.clone(), answer.to.clone())),
        ..asked.clone()
    }
}
