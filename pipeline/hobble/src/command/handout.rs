//! `hobble handout`

use std::fs;
use std::io::{Write as _, stdout};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};
use hobble_claim::ClaimAnswer;
use hobble_pages::Selection;
use hobble_questions::Answered;

use crate::arguments::{Handout, Inquiry};
use crate::command::ask::{answer_to, write_file};
use crate::words::line;

/// Writes the handout of a claim, or of positions chosen on a page.
pub fn handout(arguments: &Handout) -> anyhow::Result<bool> {
    let (name, page) = match arguments.inquiry() {
        Some(inquiry) => {
            let answered = answer_to(&inquiry)?;
            let answer = claim_of(&answered, &inquiry)?;
            (answer.claim.name.clone(), hobble_pages::handout(answer)?)
        }
        None => {
            let page = selected(&arguments.from)?.handout(arguments.title.as_deref())?;
            ("handout".to_owned(), page)
        }
    };
    let path = arguments
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from(format!("{name}.html")));
    write_file(&path, &page)?;
    writeln!(stdout(), "{}", line(&path.to_string_lossy()))?;
    Ok(true)
}

fn claim_of<'a>(answered: &'a Answered, inquiry: &Inquiry) -> anyhow::Result<&'a ClaimAnswer> {
    answered.of_type().with_context(|| {
        let from = inquiry.from.first().map(|file| file.display().to_string());
        format!(
            "{}: not a training claim; `hobble questions` lists them",
            from.as_deref().unwrap_or(inquiry.question())
        )
    })
}

/// The positions of these files, one file after another.
fn selected(files: &[PathBuf]) -> anyhow::Result<Selection> {
    let read = |path: &Path| {
        let text = fs::read_to_string(path);
        let selection = text
            .map_err(anyhow::Error::from)
            .and_then(|text| Selection::parse(&text));
        selection.with_context(|| path.display().to_string())
    };
    let [first, others @ ..] = files else {
        bail!("name a training claim and --data, or positions chosen on a page with --from");
    };
    let mut all = read(first)?;
    for path in others {
        let more = read(path)?;
        all.add(more).with_context(|| path.display().to_string())?;
    }
    Ok(all)
}
