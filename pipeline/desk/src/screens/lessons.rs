//! Lessons: made from a file or from games found in the tables, and opened again.

use std::path::Path as FilePath;

use axum::extract::{Path, State};
use axum::response::Response;
use hobble_archive::listing::Input;
use hobble_lesson::{Archive, EXERCISES, GAMES, INDEX, MOST_GAMES, lesson};
use hobble_report::number::counted;
use hobble_report::plain_short;
use hobble_walkthrough::find::{At, Text, texts};
use serde::Serialize;

use crate::failed::Failed;
use crate::folder::{HALF, free_path, name_of};
use crate::form::Form;
use crate::page::{Answer, file};
use crate::screens::axum_form::Fields;
use crate::screens::games::wanted;
use crate::screens::start::size;
use crate::screens::{Asked, Desk, form};
use crate::shared::Shared;
use crate::tables::game_list::games;
use crate::tables::game_text::game_text;

#[derive(Serialize)]
struct View {
    lessons: Vec<String>,
    archives: Vec<ArchiveView>,
    most: usize,
    /// Games of the tables that are chosen, as the list of games names them.
    chosen: Option<ChosenView>,
    has_games: bool,
}

#[derive(Serialize)]
struct ArchiveView {
    name: String,
    value: String,
    size: String,
}

#[derive(Serialize)]
struct ChosenView {
    number: String,
    fields: Vec<(String, String)>,
}

/// The lessons, and the form for another.
pub async fn show(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.work(move |desk| {
        let archives = desk.folder.archives()?;
        let has_games = desk.folder.manifest()?.is_some();
        let of_games = form.has("of", "games") && has_games;
        let chosen = of_games.then(|| chosen(desk, &form)).transpose()?;
        let view = View {
            lessons: desk.folder.lessons(),
            archives: archives
                .iter()
                .map(|archive| ArchiveView {
                    name: plain_short(archive.name.trim_start_matches("archives/")),
                    value: archive.name.clone(),
                    size: size(archive.bytes),
                })
                .collect(),
            most: MOST_GAMES,
            chosen,
            has_games,
        };
        desk.screen("lessons.html", &view)
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

fn chosen(desk: &Shared, form: &Form) -> Result<ChosenView, Failed> {
    let found = games(&desk.dataset()?, &wanted(form), 0, 0)?;
    let fields = form.0.iter().filter(|(name, value)| {
        ["player", "other", "event", "since", "until"].contains(&name.as_str()) && !value.is_empty()
    });
    Ok(ChosenView {
        number: match found.number > MOST_GAMES {
            true => format!(
                "{}, the first {MOST_GAMES} of them",
                counted(found.number as u64, "game")
            ),
            false => counted(found.number as u64, "game"),
        },
        fields: fields.cloned().collect(),
    })
}

/// Makes a lesson and opens its index.
pub async fn make(State(desk): Desk, Fields(form): Fields) -> Answer {
    desk.heavy(move |desk| made(desk, &form))
        .await
        .map_err(|failed| desk.failure(failed))
}

fn made(desk: &Shared, form: &Form) -> Result<Response, Failed> {
    let (texts, of) = match form.get("archive") {
        Some(name) => of_archive(desk, name)?,
        None => (of_tables(desk, form)?, String::new()),
    };
    if texts.is_empty() {
        return Err(Failed::bad("There are no games for a lesson."));
    }
    let given = form.get("name").unwrap_or("lesson");
    let name = name_of(given).unwrap_or_else(|| "lesson".to_owned());
    let path = free_path(&desk.folder.lesson_folder()?, &name);
    let beside = form
        .has("beside", "yes")
        .then(|| Archive::open(desk.folder.data()));
    let beside = beside.transpose()?;
    let half = tempfile::Builder::new()
        .prefix(HALF)
        .tempdir_in(desk.folder.lesson_folder()?)?;
    lesson(&texts, &of, half.path(), 2, beside.as_ref())?;
    std::fs::rename(half.keep(), &path)?;
    let name = path.file_name().and_then(|name| name.to_str());
    Ok(desk.go(&format!("/lessons/{}/{INDEX}", name.unwrap_or_default())))
}

/// The games of a file.
fn of_archive(desk: &Shared, name: &str) -> Result<(Vec<Text>, String), Failed> {
    let archives = desk.folder.archives()?.into_iter();
    let archive = archives.into_iter().find(|archive| archive.name == name);
    let archive = archive.ok_or_else(|| Failed::missing("There is no such file of games."))?;
    let (mut texts, _) = texts(&Input::File(archive.path.clone()), MOST_GAMES)?;
    let file = archive
        .path
        .file_name()
        .map_or_else(String::new, |file| file.to_string_lossy().into_owned());
    for text in &mut texts {
        text.at.file.clone_from(&file);
    }
    Ok((texts, format!(": {file}")))
}

/// Games found in the tables, numbered as they come.
fn of_tables(desk: &Shared, form: &Form) -> Result<Vec<Text>, Failed> {
    let dataset = desk.dataset()?;
    let found = games(&dataset, &wanted(form), 0, MOST_GAMES)?;
    let mut texts = Vec::new();
    for (number, game) in (1..).zip(&found.some) {
        let text = game_text(&dataset, &game.source, game.number)?;
        texts.push(Text {
            at: At {
                file: game.source.clone(),
                number,
                line: 1,
            },
            text: Ok(text.unwrap_or_default().into_bytes()),
        });
    }
    Ok(texts)
}

/// A page of a lesson.
pub async fn one(State(desk): Desk, Path((name, page)): Path<(String, String)>) -> Answer {
    desk.work(move |desk| {
        let missing = || Failed::missing("There is no such page in a lesson.");
        let folder = desk.folder.lesson(&name).ok_or_else(missing)?;
        if !is_page(&page) {
            return Err(missing());
        }
        let text = read(&folder, &page).ok_or_else(missing)?;
        if page == GAMES {
            return Ok(file(
                &format!("{name}.pgn"),
                "application/vnd.chess-pgn",
                text,
            ));
        }
        let index = format!("/lessons/{name}/{INDEX}");
        let exercises = format!("/lessons/{name}/{EXERCISES}");
        let mut ways = vec![("/lessons", "All lessons")];
        if page != INDEX {
            ways.push((&index, "Its games"));
        }
        if page != EXERCISES {
            ways.push((&exercises, "Exercises to print"));
        }
        desk.whole_page(&text, &ways)
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// Removes a lesson.
pub async fn remove(State(desk): Desk, Path(name): Path<String>) -> Answer {
    desk.work(move |desk| match desk.folder.remove_lesson(&name)? {
        true => Ok(desk.go("/lessons")),
        false => Err(Failed::missing("There is no lesson of that name.")),
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// Whether a file is one that a lesson has.
fn is_page(name: &str) -> bool {
    let number = name
        .strip_prefix("game-")
        .and_then(|rest| rest.strip_suffix(".html"));
    [INDEX, EXERCISES, GAMES].contains(&name)
        || number
            .is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()))
}

/// A file of a folder, none of which is a link.
fn read(folder: &FilePath, page: &str) -> Option<String> {
    let path = folder.join(page);
    let is_folder = std::fs::symlink_metadata(folder).ok()?.is_dir();
    let is_file = std::fs::symlink_metadata(&path).ok()?.is_file();
    let text = (is_folder && is_file).then(|| std::fs::read_to_string(path))?;
    text.ok()
}
