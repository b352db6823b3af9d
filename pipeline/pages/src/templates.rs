//! The pages' templates, filled in one way: a name that is not there is an error.

use anyhow::{Context as _, Result};
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior, Value, context};
use serde::Serialize;

/// Pages, and the parts they share.
const TEMPLATES: [(&str, &str); 13] = [
    ("choose.html", include_str!("templates/choose.html")),
    ("exercises.html", include_str!("templates/exercises.html")),
    ("game.html", include_str!("templates/game.html")),
    ("handout.html", include_str!("templates/handout.html")),
    ("lesson.html", include_str!("templates/lesson.html")),
    ("macros.html", include_str!("templates/macros.html")),
    ("page.html", include_str!("templates/page.html")),
    ("quiz-sheet.html", include_str!("templates/quiz-sheet.html")),
    ("quiz.html", include_str!("templates/quiz.html")),
    ("terms.html", include_str!("templates/terms.html")),
    ("tasks.css", include_str!("templates/tasks.css")),
    ("report.html", include_str!("templates/report.html")),
    ("selection.html", include_str!("templates/selection.html")),
];

/// These templates, by name: a name that is not there is an error, whatever is filled in is escaped, and
/// lines that hold nothing but a tag leave nothing behind.
///
/// # Errors
///
/// Where a template cannot be read.
pub fn environment<'a>(named: &[(&'a str, &'a str)]) -> Result<Environment<'a>> {
    let mut templates = Environment::new();
    templates.set_undefined_behavior(UndefinedBehavior::Strict);
    templates.set_syntax(
        SyntaxConfig::builder()
            .trim_blocks(true)
            .lstrip_blocks(true)
            .build()?,
    );
    for (name, text) in named {
        templates.add_template(name, text)?;
    }
    Ok(templates)
}

/// Fills a template with its view, known there as `page`.
///
/// # Errors
///
/// Where template and view disagree.
pub(crate) fn fill<T: Serialize>(name: &str, view: &T) -> Result<String> {
    environment(&TEMPLATES)?
        .get_template(name)?
        .render(context! { page => Value::from(Serde(view)) })
        .with_context(|| format!("the template {name} could not be filled"))
}
