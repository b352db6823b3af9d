//! `hobble page`

use std::io::{Write as _, stdout};
use std::path::PathBuf;

use hobble_dataset::Dataset;
use hobble_questions::Asked;

use crate::arguments::Page;
use crate::command::ask::{answer_to, write_file};
use crate::words::line;

/// Writes the answer to a question as a page.
pub fn run(arguments: &Page) -> anyhow::Result<bool> {
    let path = match &arguments.out {
        Some(path) => path.clone(),
        None => PathBuf::from(format!(
            "{}.html",
            Asked::load(&arguments.inquiry.question)?.name()
        )),
    };
    let answered = answer_to(&arguments.inquiry)?;
    let dataset = Dataset::open(&arguments.inquiry.data)?;
    let page = hobble_pages::answer_page(&answered.report(), answered.of_type(), &dataset)?;
    write_file(&path, &page)?;
    writeln!(stdout(), "{}", line(&path.to_string_lossy()))?;
    Ok(true)
}
