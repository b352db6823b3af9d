//! A lesson written into a folder.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use anyhow::Context as _;
use hobble_report::number::counted;
use hobble_walkthrough::find::{Text, skipped};
use hobble_walkthrough::follow::Follower;
use hobble_walkthrough::lesson::{Entry, exercises, order};
use hobble_walkthrough::{Walkthrough, pgn};

use crate::beside::Archive;

/// Most games of a lesson.
pub const MOST_GAMES: usize = 200;
/// Most exercises of a lesson.
const MOST_EXERCISES: usize = 24;
/// File of the index.
pub const INDEX: &str = "index.html";
/// File of the exercises.
pub const EXERCISES: &str = "exercises.html";
/// File of the games with comments.
pub const GAMES: &str = "games.pgn";

/// Writes the pages of a lesson into a folder, which is made where it is not there, and returns why games
/// were left out, a line each. `of` is put behind the titles.
///
/// # Errors
///
/// Where a file cannot be written, or a table of the archive is unreadable.
pub fn lesson(
    games: &[Text],
    of: &str,
    out: &Path,
    k: u8,
    archive: Option<&Archive>,
) -> anyhow::Result<Vec<String>> {
    fs::create_dir_all(out).with_context(|| format!("{}: cannot be made", out.display()))?;
    let made = pages(games, out, k, archive)?;
    let mut entries = Vec::new();
    let mut annotated = String::new();
    let mut left_out = Vec::new();
    for result in made.into_values() {
        match result {
            Made::Page(entry, text) => {
                entries.push(*entry);
                annotated.push_str(&text);
            }
            Made::Skipped(message) => left_out.push(message),
        }
    }
    order(&mut entries);
    write_index(of, out, k, &entries, &left_out)?;
    write_file(&out.join(GAMES), &annotated)?;
    Ok(left_out)
}

/// Writes a file so that it is there whole or not at all.
fn write_file(path: &Path, text: &str) -> anyhow::Result<()> {
    hobble_report::replace_file(path, |file| file.write_all(text.as_bytes()))
        .with_context(|| format!("{}: cannot be written", path.display()))
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
    out: &Path,
    k: u8,
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
                        let one = page(game, (out, k), archive, &mut follower)?;
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
    (out, k): (&Path, u8),
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
    let mut walkthrough = Walkthrough::new(game, k);
    walkthrough.at = Some(at.clone());
    if let Some(archive) = archive {
        walkthrough.beside = archive.beside(&walkthrough)?;
    }
    let file = out.join(hobble_pages::page_name(at.number));
    write_file(&file, &hobble_pages::game_page(&walkthrough)?)?;
    let annotated = pgn::pgn(&walkthrough);
    Ok(Made::Page(Box::new(walkthrough.into()), annotated))
}

/// Writes the index and the exercises.
fn write_index(
    of: &str,
    out: &Path,
    k: u8,
    entries: &[Entry],
    left_out: &[String],
) -> anyhow::Result<()> {
    let title = format!("{}{of}", counted(entries.len() as u64, "game"));
    let tasks: Vec<_> = exercises(entries, MOST_EXERCISES)
        .into_iter()
        .map(|(entry, exercise)| (&entry.heading, exercise))
        .collect();
    let sheet = hobble_pages::exercises_page(&format!("Exercises{of}"), k, &tasks)?;
    write_file(&out.join(EXERCISES), &sheet)?;
    let index = hobble_pages::lesson_page(&title, entries, left_out)?;
    write_file(&out.join(INDEX), &index)
}
