//! The question files that come with the program, and where a question's text is found.

use std::path::Path;

use crate::error::AskError;

/// Name and text of each, in the order they are listed to a reader.
pub const SHIPPED: &[(&str, &str)] = &[
    (
        "scope-of-a-side",
        include_str!("../../../notebooks-free-reports/scope-of-a-side.toml"),
    ),
    (
        "restrained-piece-lost",
        include_str!("../../../notebooks-free-reports/restrained-piece-lost.toml"),
    ),
    (
        "held-piece-lost",
        include_str!("../../../notebooks-free-reports/held-piece-lost.toml"),
    ),
    (
        "own-habits",
        include_str!("../../../notebooks-free-reports/own-habits.toml"),
    ),
    (
        "restraint-by-band",
        include_str!("../../../notebooks-free-reports/restraint-by-band.toml"),
    ),
    (
        "knight-restrained-by-pawn",
        include_str!("../../../notebooks-free-reports/knight-restrained-by-pawn.toml"),
    ),
    (
        "queen-restrained",
        include_str!("../../../notebooks-free-reports/queen-restrained.toml"),
    ),
    (
        "bishop-restrained",
        include_str!("../../../notebooks-free-reports/bishop-restrained.toml"),
    ),
    (
        "rook-restrained",
        include_str!("../../../notebooks-free-reports/rook-restrained.toml"),
    ),
    (
        "bishop-shut-out",
        include_str!("../../../notebooks-free-reports/bishop-shut-out.toml"),
    ),
    (
        "knight-shut-out",
        include_str!("../../../notebooks-free-reports/knight-shut-out.toml"),
    ),
];

/// The text of a question file.
pub struct Source {
    /// Name it is asked by: the file's name without `.toml`.
    pub name: String,
    /// The file as named in errors.
    pub file: String,
    /// What stands in it.
    pub text: String,
}

impl Source {
    /// The shipped question files.
    pub fn shipped() -> impl Iterator<Item = Source> {
        SHIPPED.iter().map(|(name, text)| Source {
            name: (*name).to_owned(),
            file: format!("{name}.toml"),
            text: (*text).to_owned(),
        })
    }

    /// A shipped question by its name, or a question file by its path.
    ///
    /// # Errors
    ///
    /// Where there is no such question or its file cannot be read.
    pub fn find(name_or_path: &str) -> Result<Source, AskError> {
        if let Some(source) = Source::shipped().find(|source| source.name == name_or_path) {
            return Ok(source);
        }
        let path = Path::new(name_or_path);
        let is_path = path.extension().is_some_and(|ending| ending == "toml")
            || path.components().count() > 1
            || path.is_file();
        if !is_path {
            let names: Vec<_> = SHIPPED.iter().map(|(name, _)| *name).collect();
            return Err(AskError::UnknownQuestion {
                name: name_or_path.to_owned(),
                shipped: names.join(", "),
            });
        }
        let text = std::fs::read_to_string(path).map_err(|source| AskError::QuestionFile {
            file: name_or_path.to_owned(),
            source,
        })?;
        Ok(Source {
            name: path
                .file_stem()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned(),
            file: name_or_path.to_owned(),
            text,
        })
    }
}
