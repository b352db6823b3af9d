//! `hobble ask` and `hobble questions`

use std::io::{IsTerminal as _, Write as _, stdout};

use anyhow::{Context as _, bail};
use hobble_bands::BandsAnswer;
use hobble_conditions::{Given, Overrides, Peers, Player};
use hobble_dataset::Dataset;
use hobble_questions::{Answered, Asked, Counts};

use crate::arguments::{Ask, Format, Inquiry};
use crate::command::states;
use crate::words::{line, say_unfinished};

/// Answers the question of an inquiry.
pub fn answer_to(inquiry: &Inquiry) -> anyhow::Result<Answered> {
    if !inquiry.from.is_empty() {
        return states::answer(&states::of_files(inquiry)?, inquiry);
    }
    let (asked, given) = asked_with(inquiry)?;
    let [folder] = inquiry.data.as_slice() else {
        return states::of_all(&asked, inquiry, given);
    };
    let dataset = Dataset::open(folder)?;
    let answered = asked.answer(&dataset, &given)?;
    say_unfinished(&dataset, folder, states::UNFINISHED);
    Ok(answered)
}

/// The question of an inquiry, and what is given beside it.
fn asked_with(inquiry: &Inquiry) -> anyhow::Result<(Asked, Given)> {
    let asked = Asked::load(inquiry.question())?;
    if inquiry.player.is_some() && !asked.sort().of_a_player {
        bail!(
            "--player: {} is not about one player; own-habits is",
            asked.name()
        );
    }
    let given = Given {
        overrides: Overrides {
            developed: inquiry.developed.map(Into::into),
            band_width: inquiry.band_width,
            ..inquiry.bounds.overrides()
        },
        player: inquiry.player.as_ref().map(|name| Player {
            name: name.clone(),
            aliases: inquiry.alias.clone(),
        }),
        peers: inquiry.peers.clone().map(Peers::open).transpose()?,
        first: None,
    };
    Ok((asked, given))
}

/// The same, with the states of the first count where they are named.
fn asked_again(arguments: &Ask) -> anyhow::Result<(Asked, Given)> {
    let (asked, mut given) = asked_with(&arguments.inquiry)?;
    if let Some(first) = &arguments.first {
        given.first = Some(Counts::read(first)?.into_state());
    }
    Ok((asked, given))
}

/// Prints an answer, or writes what is counted for one.
pub fn run(arguments: &Ask) -> anyhow::Result<bool> {
    let inquiry = &arguments.inquiry;
    if arguments.list_files {
        let (asked, given) = asked_again(arguments)?;
        let read = |dataset: &Dataset| asked.files(dataset, &given, arguments.stripe);
        return states::list_files(&inquiry.data, read);
    }
    if let Some(path) = &arguments.state {
        let counts = if inquiry.from.is_empty() {
            let (asked, given) = asked_again(arguments)?;
            states::of_folders(&asked, inquiry, &given, arguments.stripe)?
        } else {
            states::of_files(inquiry)?
        };
        return states::write(&counts, path);
    }
    if arguments.stripe.is_some() || arguments.first.is_some() {
        bail!(
            "--stripe and --first: an answer is to all parts; name a file with --state for what is counted"
        );
    }
    let answered = answer_to(inquiry)?;
    let text = match arguments.format {
        Format::Text => hobble_report::text(&answered.report()),
        Format::Csv => hobble_report::csv(&answered.report()),
        Format::Json => hobble_report::json(&answered.report())?,
        Format::Markdown => hobble_report::markdown(&answered.report()),
        Format::Html => html(&answered)?,
        Format::Parquet => return parquet(&answered, arguments.out.as_deref()),
    };
    match &arguments.out {
        Some(path) => write_file(path, &text)?,
        None => {
            write_out(&text)?;
            if stdout().is_terminal() && !text.ends_with('\n') {
                writeln!(stdout())?;
            }
        }
    }
    Ok(true)
}

/// Writes the long table of an answer that has one.
fn parquet(answered: &Answered, out: Option<&std::path::Path>) -> anyhow::Result<bool> {
    let Some(answer) = answered.of_type::<BandsAnswer>() else {
        anyhow::bail!("--format parquet: only a report by rating band has a long table; take csv");
    };
    let path = out.context("--format parquet: name a file with --out")?;
    hobble_bands::write_parquet(answer, path)
        .with_context(|| format!("{}: cannot be written", path.display()))?;
    Ok(true)
}

/// An answer as a page.
pub fn html(answered: &Answered) -> anyhow::Result<String> {
    hobble_pages::page(&answered.report())
}

/// Writes a file so that it is there whole or not at all.
pub fn write_file(path: &std::path::Path, text: &str) -> anyhow::Result<()> {
    write_bytes(path, text.as_bytes())
}

/// The same for bytes.
pub fn write_bytes(path: &std::path::Path, bytes: &[u8]) -> anyhow::Result<()> {
    hobble_report::replace_file(path, |file| file.write_all(bytes))
        .with_context(|| format!("{}: cannot be written", path.display()))
}

/// The format that the ending of a file's name stands for.
pub fn by_ending<F, const N: usize>(
    file: Option<&std::path::Path>,
    formats: [(&str, F); N],
) -> Option<F> {
    let ending = file?.extension()?.to_str()?;
    let mut formats = formats.into_iter();
    formats
        .find(|(one, _)| *one == ending)
        .map(|(_, format)| format)
}

/// Writes text to a file and says which, or else to standard output.
pub fn write_named(path: Option<&std::path::Path>, text: &str) -> anyhow::Result<()> {
    match path {
        Some(path) => {
            write_file(path, text)?;
            writeln!(stdout(), "{}", line(&path.to_string_lossy()))?;
        }
        None => write_out(text)?,
    }
    Ok(())
}

/// Writes text to standard output.
pub fn write_out(text: &str) -> anyhow::Result<()> {
    let mut out = stdout().lock();
    out.write_all(text.as_bytes())
        .and_then(|()| out.flush())
        .context("standard output: cannot be written")
}

/// Lists the questions that come with the program.
pub fn list() -> anyhow::Result<bool> {
    let mut out = stdout().lock();
    let questions = Asked::shipped()?;
    let name = |asked: &Asked| asked.name().chars().count();
    let width = questions.iter().map(name).max().unwrap_or(0);
    for asked in questions {
        let about = asked.sort().about;
        writeln!(
            out,
            "{:width$}  {about:10}  {}",
            asked.name(),
            asked.title()
        )?;
    }
    Ok(true)
}
