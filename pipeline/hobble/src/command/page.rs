//! `hobble page`

use std::io::{Write as _, stdout};
use std::path::PathBuf;

use hobble_conditions::counted::About;
use hobble_dataset::Dataset;
use hobble_questions::Asked;

use crate::arguments::Page;
use crate::command::ask::{answer_to, write_file};
use crate::words::line;

/// Writes the answer to a question as a page.
pub fn run(arguments: &Page) -> anyhow::Result<bool> {
    let inquiry = &arguments.inquiry;
    let path = match (&arguments.out, inquiry.from.first()) {
        (Some(path), _) => path.clone(),
        (None, Some(state)) => by_name(About::read(state)?.name()),
        (None, None) => by_name(Asked::load(inquiry.question())?.name()),
    };
    let answered = answer_to(inquiry)?;
    let tables = match inquiry.data.as_slice() {
        [folder] => Some(Dataset::open(folder)?),
        _ => None,
    };
    let page = hobble_pages::answer_page(&answered.report(), answered.of_type(), tables.as_ref())?;
    write_file(&path, &page)?;
    writeln!(stdout(), "{}", line(&path.to_string_lossy()))?;
    Ok(true)
}

fn by_name(name: &str) -> PathBuf {
    PathBuf::from(format!("{name}.html"))
}
