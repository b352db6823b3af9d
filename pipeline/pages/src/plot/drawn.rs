//! A figure of a report, drawn for a phone and for anything wider.

use anyhow::Result;

use super::Width;
use crate::svg::Words;

/// A figure drawn for a page: as it looks on a phone, and on anything wider.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// The name that a report gives it.
    pub name: String,
    /// For a phone.
    pub narrow: String,
    /// For anything wider.
    pub wide: String,
    /// What stands beneath it.
    pub caption: String,
}

impl Drawn {
    /// Draws a figure in both widths.
    ///
    /// # Errors
    ///
    /// Where `draw` cannot draw it.
    pub fn new(
        name: &str,
        (title, description): (&str, &str),
        caption: String,
        draw: impl Fn(Words<'_>, Width) -> Result<String>,
    ) -> Result<Drawn> {
        let one = |size: &str, width| {
            let id = format!("{name}-{size}");
            draw(
                Words {
                    id: &id,
                    title,
                    description,
                },
                width,
            )
        };
        Ok(Drawn {
            name: name.to_owned(),
            narrow: one("narrow", Width::Narrow)?,
            wide: one("wide", Width::Wide)?,
            caption,
        })
    }
}
