//! `hobble lesson`

use std::collections::BTreeMap;
use std::fs;
use std::io::{Write as _, stdout};
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use anyhow::{Context as _, bail};
use hobble_archive::listing::Input;
use hobble_walkthrough::find::{Text, skipped, texts};
use hobble_walkthrough::follow::Follower;
use hobble_walkthrough::lesson::{Entry, exercises, order};
use hobble_walkthrough::{Walkthrough, pgn};

use crate::arguments::Lesson;
use crate::command::ask::write_file;
use crate::command::beside::Archive;
use crate::command::game::single;
use crate::words::{counted, line, say};

/// Most games of a lesson.
const MOST_GAMES: usize = 200;
/// Most exercises of a lesson.
const MOST_EXERCISES: usize = 24;

/// Writes a walk through every game of a file.
pub fn run(arguments: &Lesson) -> anyhow::Result<bool> {
    let input = single(&arguments.archive)?;
    let (games, more) = texts(&input, MOST_GAMES)?;
    if games.is_empty() {
        bail!("{}: no games", input.name());
    }
    if more > 0 {
        let left_out = counted(more, "game");
        say(&format!(
            "{}: a lesson has {MOST_GAMES} games at most; {left_out} left out",
            input.name()
        ));
    }
    let out = &arguments.out;
    fs::create_dir_all(out).with_context(|| format!("{}: cannot be made", out.display()))?;
    let archive = arguments
        .terms
        .data
        .as_deref()
        .map(Archive::open)
        .transpose()?;
    let made = pages(&games, arguments, archive.as_ref())?;
    let mut entries = Vec::new();
    let mut annotated = String::new();
    let mut left_out = Vec::new();
    for result in made.into_values() {
        match result {
            Made::Page(entry, text) => {
                entries.push(*entry);
                annotated.push_str(&text);
            }
            Made::Skipped(message) => {
                say(&message);
                left_out.push(message);
            }
        }
    }
    order(&mut entries);
    write_lesson(&input, out, arguments.terms.k, &entries, &left_out)?;
    write_file(&out.join("games.pgn"), &annotated)?;
    let index = out.join("index.html");
    writeln!(stdout(), "{}", line(&index.to_string_lossy()))?;
    Ok(true)
}

/// What was made of a game.
enum Made {
    /// A page, and the game with comments.
    Page(Box<Entry>, String),
    /// Nothing, and why.
    Skipped(String),
}

/// Writes the page of each game, on all cores; what was made, by place in the file.
fn pages(
    games: &[Text],
    arguments: &Lesson,
    archive: Option<&Archive>,
) -> anyhow::Result<BTreeMap<usize, Made>> {
    let next = AtomicUsize::new(0);
    let made = Mutex::new(BTreeMap::new());
    let threads = thread::available_parallelism().map_or(1, usize::from);
    thread::scope(|scope| {
        let workers: Vec<_> = (0..threads)
            .map(|_| {
                scope.spawn(|| -> anyhow::Result<()> {
                    let mut follower = Follower::new();
                    loop {
                        let nth = next.fetch_add(1, Ordering::Relaxed);
                        let Some(game) = games.get(nth) else {
                            return Ok(());
                        };
                        let one = page(game, arguments, archive, &mut follower)?;
                        if let Ok(mut made) = made.lock() {
                            made.insert(nth, one);
                        }
                    }
                })
            })
            .collect();
        for worker in workers {
            match worker.join() {
                Ok(result) => result?,
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        anyhow::Ok(())
    })?;
    made.into_inner()
        .map_err(|_| anyhow::anyhow!("a page was not finished"))
}

fn page(
    Text { at, text }: &Text,
    arguments: &Lesson,
    archive: Option<&Archive>,
    follower: &mut Follower,
) -> anyhow::Result<Made> {
    let bytes = text.as_deref().unwrap_or_default();
    let followed = text
        .as_ref()
        .map_err(Clone::clone)
        .and_then(|text| follower.follow(text));
    let game = match followed {
        Ok(game) => game,
        Err(skip) => return Ok(Made::Skipped(skipped(at, bytes, skip).to_string())),
    };
    let mut walkthrough = Walkthrough::new(game, arguments.terms.k);
    walkthrough.at = Some(at.clone());
    if let Some(archive) = archive {
        walkthrough.beside = archive.beside(&walkthrough)?;
    }
    let file = arguments.out.join(hobble_pages::page_name(at.number));
    write_file(&file, &hobble_pages::game_page(&walkthrough)?)?;
    let annotated = pgn::pgn(&walkthrough);
    Ok(Made::Page(Box::new(walkthrough.into()), annotated))
}

/// Writes the index and the exercises.
fn write_lesson(
    input: &Input,
    out: &Path,
    k: u8,
    entries: &[Entry],
    left_out: &[String],
) -> anyhow::Result<()> {
    // Of which file, where there is one.
    let file = match input {
        Input::File(path) => path
            .file_name()
            .map_or_else(String::new, |name| format!(": {}", name.to_string_lossy())),
        Input::Stdin => String::new(),
    };
    let title = format!("{}{file}", counted(entries.len() as u64, "game"));
    let tasks: Vec<_> = exercises(entries, MOST_EXERCISES)
        .into_iter()
        .map(|(entry, exercise)| (&entry.heading, exercise))
        .collect();
    let sheet = hobble_pages::exercises_page(&format!("Exercises{file}"), k, &tasks)?;
    write_file(&out.join("exercises.html"), &sheet)?;
    let index = hobble_pages::lesson_page(&title, entries, left_out)?;
    write_file(&out.join("index.html"), &index)
}
