//! `hobble quiz`

use std::path::PathBuf;

use hobble_dataset::Dataset;
use hobble_quiz::{Wanted, pgn, quiz, text};

use crate::arguments::{Quiz, QuizFormat, ToMove};
use crate::command::ask::{by_ending, write_named};
use crate::words::{say, say_unfinished};

/// Writes a quiz.
pub fn run(arguments: &Quiz) -> anyhow::Result<bool> {
    let dataset = Dataset::open(&arguments.data)?;
    let made = quiz(&dataset, &wanted(arguments))?;
    say_unfinished(
        &dataset,
        &arguments.data,
        "the quiz is of what was scanned so far",
    );
    made.notes.iter().for_each(|note| say(note));
    let format = format(arguments);
    let (written, file) = match format {
        QuizFormat::Page => (hobble_pages::quiz_page(&made)?, Some("quiz.html")),
        QuizFormat::Sheet => (hobble_pages::quiz_sheet(&made)?, Some("quiz-sheet.html")),
        QuizFormat::Pgn => (pgn(&made), None),
        QuizFormat::Json => (format!("{}\n", serde_json::to_string_pretty(&made)?), None),
        QuizFormat::Text => (text(&made), None),
    };
    let file = arguments.out.clone().or_else(|| file.map(PathBuf::from));
    write_named(file.as_deref(), &written)?;
    Ok(true)
}

fn wanted(arguments: &Quiz) -> Wanted {
    Wanted {
        count: arguments.count,
        skip: arguments.skip,
        kinds: arguments.kind.clone(),
        phase: arguments.phase.clone(),
        stands: arguments.stands.clone(),
        time_class: arguments.time_class.clone(),
        white_to_move: arguments.to_move.map(|side| side == ToMove::White),
        level: arguments.difficulty.clone(),
        opening: arguments.opening.clone(),
        rating: arguments.rating,
        player: arguments.player.clone(),
    }
}

/// The format asked for, else that of the file's name, else a page.
fn format(arguments: &Quiz) -> QuizFormat {
    let endings = [
        ("json", QuizFormat::Json),
        ("pgn", QuizFormat::Pgn),
        ("txt", QuizFormat::Text),
    ];
    let of_file = by_ending(arguments.out.as_deref(), endings);
    arguments.format.or(of_file).unwrap_or(QuizFormat::Page)
}
