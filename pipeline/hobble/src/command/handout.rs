//! `hobble handout`

use std::io::{Write as _, stdout};
use std::path::PathBuf;

use anyhow::Context as _;
use hobble_claim::ClaimAnswer;
use hobble_questions::Answered;

use crate::arguments::{Inquiry, Page};
use crate::command::ask::{answer_to, write_file};
use crate::words::line;

/// Writes the handout of a claim.
pub fn handout(arguments: &Page) -> anyhow::Result<bool> {
    let answered = answer_to(&arguments.inquiry)?;
    let answer = claim_of(&answered, &arguments.inquiry)?;
    write(arguments, answer, "html", &hobble_pages::handout(answer)?)
}

fn claim_of<'a>(answered: &'a Answered, inquiry: &Inquiry) -> anyhow::Result<&'a ClaimAnswer> {
    answered.of_type().with_context(|| {
        format!(
            "{}: not a training claim; `hobble questions` lists them",
            inquiry.question
        )
    })
}

fn write(arguments: &Page, answer: &ClaimAnswer, ending: &str, text: &str) -> anyhow::Result<bool> {
    let path = arguments
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from(format!("{}.{ending}", answer.claim.name)));
    write_file(&path, text)?;
    writeln!(stdout(), "{}", line(&path.to_string_lossy()))?;
    Ok(true)
}
