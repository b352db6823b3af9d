//! `hobble ask` and `hobble questions`

use std::fs;
use std::io::{IsTerminal as _, Write as _, stdout};

use anyhow::Context as _;
use hobble_questions::{Answer, Dataset, Overrides, Question, answer, render};

use crate::arguments::{Ask, Format, Inquiry};

/// Answers the question of an inquiry.
pub fn answer_to(inquiry: &Inquiry) -> anyhow::Result<Answer> {
    let question = Question::load(&inquiry.question)?;
    let dataset = Dataset::open(&inquiry.data)?;
    let overrides = Overrides {
        k: inquiry.k,
        within: inquiry.within,
        developed: inquiry.developed.map(Into::into),
    };
    let answer = answer(&question, &dataset, &overrides)?;
    if !dataset.complete() {
        eprintln!(
            "{}: its scan is not complete; the figures are of what was scanned so far",
            inquiry.data.display()
        );
    }
    Ok(answer)
}

/// Prints an answer.
pub fn run(arguments: &Ask) -> anyhow::Result<bool> {
    let answer = answer_to(&arguments.inquiry)?;
    let text = match arguments.format {
        Format::Text => render::text(&answer),
        Format::Csv => render::csv(&answer),
        Format::Json => render::json(&answer)?,
        Format::Markdown => render::markdown(&answer),
        Format::Html => hobble_pages::render(&answer)?,
    };
    match &arguments.out {
        Some(path) => write_file(path, &text)?,
        None => {
            let mut out = stdout().lock();
            out.write_all(text.as_bytes())?;
            if out.is_terminal() && !text.ends_with('\n') {
                out.write_all(b"\n")?;
            }
        }
    }
    Ok(true)
}

/// Writes a file so that it is there whole or not at all.
pub fn write_file(path: &std::path::Path, text: &str) -> anyhow::Result<()> {
    let mut name = path.as_os_str().to_owned();
    name.push(".new");
    fs::write(&name, text)
        .and_then(|()| fs::rename(&name, path))
        .with_context(|| format!("{}: cannot be written", path.display()))
}

/// Lists the questions that come with the program.
pub fn list() -> anyhow::Result<bool> {
    let mut out = stdout().lock();
    let questions = Question::shipped()?;
    let width = questions
        .iter()
        .map(|question| question.name.chars().count())
        .max()
        .unwrap_or(0);
    for question in questions {
        writeln!(out, "{:width$}  {}", question.name, question.title)?;
    }
    Ok(true)
}
