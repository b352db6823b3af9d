//! The pages' templates, filled in one way: a name that is not there is an error.

use anyhow::{Context as _, Result};
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior, Value, context};
use serde::Serialize;

/// Pages, and the parts they share.
const TEMPLATES: [(&str, &str); 12] = [
    ("bands.html", include_str!("templates/bands.html")),
    ("claim.html", include_str!("templates/claim.html")),
    ("data.html", include_str!("templates/data.html")),
    ("foot.html", include_str!("templates/foot.html")),
    ("habits.html", include_str!("templates/habits.html")),
    ("handout.html", include_str!("templates/handout.html")),
    ("head.html", include_str!("templates/head.html")),
    ("key.html", include_str!("templates/key.html")),
    ("macros.html", include_str!("templates/macros.html")),
    ("methods.html", include_str!("templates/methods.html")),
    ("page.html", include_str!("templates/page.html")),
    ("plot.html", include_str!("templates/plot.html")),
];

/// Fills a template with its view, known there as `page`.
///
/// # Errors
///
/// Where template and view disagree.
pub(crate) fn fill<T: Serialize>(name: &str, view: &T) -> Result<String> {
    let mut templates = Environment::new();
    templates.set_undefined_behavior(UndefinedBehavior::Strict);
    templates.set_syntax(
        SyntaxConfig::builder()
            .trim_blocks(true)
            .lstrip_blocks(true)
            .build()?,
    );
    for (name, text) in TEMPLATES {
        templates.add_template(name, text)?;
    }
    templates
        .get_template(name)?
        .render(context! { page => Value::from(Serde(view)) })
        .with_context(|| format!("the template {name} could not be filled"))
}
