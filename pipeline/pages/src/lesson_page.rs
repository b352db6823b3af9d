//! The index of a lesson: its games by how much restraint they show, with a choice by theme.

use anyhow::Result;
use hobble_report::number::{counted, small};
use hobble_report::plain_short;
use hobble_walkthrough::lesson::Entry;
use hobble_walkthrough::themes::Theme;
use serde::Serialize;

use crate::game_page::most;
use crate::style::style;
use crate::templates::fill;

/// The index of a lesson as one HTML page. `left_out` are the games that have no page, each
/// with the reason.
///
/// # Errors
///
/// Where the page cannot be put together.
pub fn lesson_page(title: &str, entries: &[Entry], left_out: &[String]) -> Result<String> {
    let themes = Theme::ALL
        .into_iter()
        .map(|theme| ThemeView {
            key: theme.key(),
            name: theme.name(),
            games: entries
                .iter()
                .filter(|entry| entry.show.themes.contains(&theme))
                .count(),
        })
        .collect();
    fill(
        "lesson.html",
        &View {
            style: style(),
            title: plain_short(title),
            k: entries
                .first()
                .map_or_else(String::new, |entry| most(entry.k)),
            themes,
            games: entries.iter().map(game).collect(),
            left_out: left_out.iter().map(|line| plain_short(line)).collect(),
            hobble: env!("CARGO_PKG_VERSION"),
            definitions: hobble_terms::DEFINITIONS,
        },
    )
}

/// The file of a game's page in a lesson.
pub fn page_name(number: u64) -> String {
    format!("game-{number:03}.html")
}

#[derive(Serialize)]
struct View {
    style: String,
    title: String,
    k: String,
    themes: Vec<ThemeView>,
    games: Vec<GameView>,
    left_out: Vec<String>,
    hobble: &'static str,
    definitions: u32,
}

#[derive(Serialize)]
struct ThemeView {
    key: &'static str,
    name: &'static str,
    games: usize,
}

#[derive(Serialize)]
struct GameView {
    file: String,
    name: String,
    about: String,
    restraint: String,
    themes: String,
    keys: String,
}

fn game(entry: &Entry) -> GameView {
    let heading = &entry.heading;
    let about: Vec<String> = [&heading.event, &heading.date]
        .into_iter()
        .flatten()
        .map(|text| plain_short(text))
        .chain([
            heading.result.name().to_owned(),
            counted(entry.plies.div_ceil(2) as u64, "move"),
        ])
        .collect();
    let themes = &entry.show.themes;
    let names: Vec<&str> = themes.iter().map(|theme| theme.name()).collect();
    let keys: Vec<&str> = themes.iter().map(|theme| theme.key()).collect();
    let restraint = match entry.show.restraints {
        0 => "no piece restrained".to_owned(),
        1 => format!(
            "one restraint, {}",
            counted(entry.show.turns as u64, "turn")
        ),
        more => format!(
            "{} restraints, {} in all",
            small(more as u64),
            counted(entry.show.turns as u64, "turn")
        ),
    };
    GameView {
        file: page_name(entry.number),
        name: plain_short(&heading.name()),
        about: about.join(", "),
        restraint,
        themes: names.join(", "),
        keys: keys.join(" "),
    }
}
