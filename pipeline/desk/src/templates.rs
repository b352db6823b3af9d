//! The desk's screens, filled in one way: a name that is not there is an error. Whatever is filled in
//! is escaped.

use anyhow::{Context as _, Result};
use hobble_pages::environment;
use minijinja::value::Serde;
use minijinja::{Value, context};
use serde::Serialize;

/// Screens, and what they share.
const TEMPLATES: &[(&str, &str)] = &[
    ("base.html", include_str!("templates/base.html")),
    ("claim.html", include_str!("templates/claim.html")),
    ("failed.html", include_str!("templates/failed.html")),
    ("fields.html", include_str!("templates/fields.html")),
    ("games.html", include_str!("templates/games.html")),
    ("handout.html", include_str!("templates/handout.html")),
    ("keep.html", include_str!("templates/keep.html")),
    ("lessons.html", include_str!("templates/lessons.html")),
    ("player.html", include_str!("templates/player.html")),
    ("players.html", include_str!("templates/players.html")),
    ("positions.html", include_str!("templates/positions.html")),
    ("questions.html", include_str!("templates/questions.html")),
    ("quiz.html", include_str!("templates/quiz.html")),
    ("reading.html", include_str!("templates/reading.html")),
    ("remove.html", include_str!("templates/remove.html")),
    ("start.html", include_str!("templates/start.html")),
    ("way.html", include_str!("templates/way.html")),
];

/// Style sheet beside the house's own.
pub const STYLE: &str = include_str!("templates/desk.css");

/// The one script.
pub const SCRIPT: &str = include_str!("templates/desk.js");

/// Fills a screen with its view, known there as `page`.
///
/// # Errors
///
/// Where template and view disagree.
pub fn fill<T: Serialize>(name: &str, base: &str, view: &T) -> Result<String> {
    let templates = environment(TEMPLATES)?;
    let filled = templates.get_template(name)?;
    filled
        .render(context! { page => Value::from(Serde(view)), base, here => name })
        .with_context(|| format!("the screen {name} could not be filled"))
}
