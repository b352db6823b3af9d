//! A sheet of exercises to print: positions, and their answers apart.

use anyhow::Result;
use hobble_report::plain_short;
use hobble_walkthrough::exercises::Exercise;
use hobble_walkthrough::heading::Heading;
use hobble_walkthrough::moments::Shown;
use serde::Serialize;

use crate::game_page::{PictureView, key, most, picture};
use crate::html::Sign;
use crate::style::style;
use crate::templates::fill;

/// Exercises as one HTML page that needs nothing but itself. `k` is the most safe squares of a
/// held piece.
///
/// # Errors
///
/// Where the page cannot be put together.
pub fn exercises_page(title: &str, k: u8, exercises: &[(&Heading, &Exercise)]) -> Result<String> {
    let tasks = (1..)
        .zip(exercises)
        .map(|(number, (heading, exercise))| task(number, heading, exercise))
        .collect();
    fill(
        "exercises.html",
        &View {
            style: style(),
            title: plain_short(title),
            k: most(k),
            key: key(),
            tasks,
            hobble: env!("CARGO_PKG_VERSION"),
            definitions: hobble_terms::DEFINITIONS,
        },
    )
}

#[derive(Serialize)]
struct View {
    style: String,
    title: String,
    k: String,
    key: Vec<Sign>,
    tasks: Vec<TaskView>,
    hobble: &'static str,
    definitions: u32,
}

#[derive(Serialize)]
struct TaskView {
    number: usize,
    task: String,
    /// Not shown of an exercise.
    difficulty: &'static str,
    board: PictureView,
    answer: PictureView,
    answers: Vec<String>,
    game: String,
}

fn task(number: usize, heading: &Heading, exercise: &Exercise) -> TaskView {
    let drawn = |shown: &Shown, id: &str, title: &str| {
        let (id, title) = (format!("{id}-{number}"), format!("{title} {number}"));
        picture(shown, &id, &title, exercise.turn)
    };
    TaskView {
        number,
        task: exercise.task.clone(),
        difficulty: "",
        board: drawn(&exercise.asked, "asked", "Position"),
        answer: drawn(&exercise.solved, "solved", "Answer"),
        answers: exercise.answers.clone(),
        game: plain_short(&heading.long_name()),
    }
}
