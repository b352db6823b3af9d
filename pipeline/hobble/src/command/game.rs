//! `hobble game`

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::Context as _;
use hobble_archive::listing::{Input, list};
use hobble_lesson::Archive;
use hobble_walkthrough::find::{Which, find};
use hobble_walkthrough::{Walkthrough, json, pgn, text};

use crate::arguments::{Game, GameFormat};
use crate::command::ask::{write_bytes, write_named};

/// Writes a walk through one game.
pub fn run(arguments: &Game) -> anyhow::Result<bool> {
    let input = single(&arguments.archive)?;
    let which = arguments
        .id
        .map_or(Which::Number(arguments.game.unwrap_or(1)), Which::Id);
    let (at, game) = find(&input, which)?;
    let number = at.number;
    let mut walkthrough = Walkthrough::new(game, arguments.terms.k);
    walkthrough.at = Some(at);
    if let Some(data) = &arguments.terms.data {
        walkthrough.beside = Archive::open(data)?.beside(&walkthrough)?;
    }
    let (written, file) = match arguments.format {
        GameFormat::Page => (
            hobble_pages::game_page(&walkthrough)?,
            Some(format!("game-{number}.html")),
        ),
        GameFormat::Exercises => (
            exercises(&walkthrough)?,
            Some(format!("exercises-{number}.html")),
        ),
        GameFormat::Text => (text::text(&walkthrough), None),
        GameFormat::Json => (serde_json::to_string(&json::json(&walkthrough))?, None),
        GameFormat::Pgn => (pgn::pgn(&walkthrough), None),
    };
    let file = arguments.out.clone().or_else(|| {
        let file = file.filter(|_| input != Input::Stdin)?;
        Some(PathBuf::from(file))
    });
    if let Some(folder) = &arguments.boards {
        boards(folder, &walkthrough, &arguments.at)?;
    }
    write_named(file.as_deref(), &written)?;
    Ok(true)
}

/// The exercises of a game as a page.
fn exercises(walkthrough: &Walkthrough) -> anyhow::Result<String> {
    let heading = &walkthrough.game.heading;
    let tasks: Vec<_> = walkthrough
        .exercises
        .iter()
        .map(|exercise| (heading, exercise))
        .collect();
    hobble_pages::exercises_page(&heading.name(), walkthrough.k, &tasks)
}

/// The one input that is meant.
pub fn single(archive: &Path) -> anyhow::Result<Input> {
    let inputs = list(&[archive.to_owned()])?;
    match <[Input; 1]>::try_from(inputs) {
        Ok([input]) => Ok(input),
        Err(inputs) => anyhow::bail!(
            "{}: a folder of {} archives; name one of them",
            archive.display(),
            inputs.len()
        ),
    }
}

/// Writes pictures of boards into a folder: those of the moves that mattered, or of the
/// positions asked for.
fn boards(folder: &Path, walkthrough: &Walkthrough, at: &[usize]) -> anyhow::Result<()> {
    let plies = walkthrough.game.plies.len();
    if let Some(beyond) = at.iter().find(|&&at| at > plies) {
        anyhow::bail!("--at {beyond}: the last position of the game is {plies}");
    }
    let boards = if at.is_empty() {
        hobble_pages::boards_of_moments(walkthrough)?
    } else {
        hobble_pages::boards_at(walkthrough, at)?
    };
    fs::create_dir_all(folder).with_context(|| format!("{}: cannot be made", folder.display()))?;
    for board in boards {
        for (ending, bytes) in [("svg", board.svg.as_bytes()), ("png", &board.png)] {
            let path = folder.join(format!("{}.{ending}", board.name));
            write_bytes(&path, bytes)?;
        }
    }
    Ok(())
}
