//! `hobble page`

use std::path::PathBuf;

use crate::arguments::Page;
use crate::command::ask::{answer_to, write_file};

/// Writes the answer to a question as a page.
pub fn run(arguments: &Page) -> anyhow::Result<bool> {
    let answer = answer_to(&arguments.inquiry)?;
    let path = match &arguments.out {
        Some(path) => path.clone(),
        None => PathBuf::from(format!("{}.html", answer.question.name)),
    };
    write_file(&path, &hobble_pages::render(&answer)?)?;
    println!("{}", path.display());
    Ok(true)
}
