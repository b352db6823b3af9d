//! `hobble find`

use std::fmt::Write as _;

use hobble_conditions::Given;
use hobble_conditions::sort::Sort as _;
use hobble_dataset::Dataset;
use hobble_positions::PositionSearch;
use hobble_report::Reported as _;

use crate::arguments::{Find, FindFormat};
use crate::command::ask::{by_ending, write_file, write_out};
use crate::words::{say, say_unfinished};

/// Prints or writes the positions found.
pub fn run(arguments: &Find) -> anyhow::Result<bool> {
    let search = PositionSearch::parse("found", "options", &file(arguments)?)?;
    let dataset = Dataset::open(&arguments.data)?;
    let answer = search.ask(&dataset, &Given::default())?;
    say_unfinished(
        &dataset,
        &arguments.data,
        "the positions are of what was scanned so far",
    );
    let report = answer.report();
    let text = match format(arguments) {
        FindFormat::Text => hobble_report::text(&report),
        FindFormat::Csv => hobble_report::csv(&report),
        FindFormat::Json => hobble_report::json(&report)?,
        FindFormat::Html => hobble_pages::page(&report)?,
        FindFormat::Pgn => {
            if answer.positions.is_empty() {
                say("no position was found");
            }
            hobble_positions::pgn(&answer.positions)
        }
    };
    match &arguments.out {
        Some(path) => write_file(path, &text)?,
        None => write_out(&text)?,
    }
    Ok(true)
}

/// The options as a question file. What JSON writes of texts and lists is TOML as well.
fn file(arguments: &Find) -> serde_json::Result<String> {
    let mut file = "format = 1\nabout = \"positions\"\ntitle = \"Positions found\"\ntext = \"The positions that meet the options given.\"\n".to_owned();
    let mut put = |name: &str, value: String| {
        let _ = writeln!(file, "{name} = {value}");
    };
    let lists = [
        ("kinds", &arguments.kind),
        ("cause", &arguments.cause),
        ("ended", &arguments.ended),
        ("phase", &arguments.phase),
        ("band", &arguments.band),
        ("opponent_band", &arguments.opponent_band),
        ("eco", &arguments.eco),
        ("time_class", &arguments.time_class),
        ("player", &arguments.player),
        ("event", &arguments.event),
    ];
    for (name, list) in lists.into_iter().filter(|(_, list)| !list.is_empty()) {
        put(name, serde_json::to_string(list)?);
    }
    let words = [
        ("by", &arguments.by),
        ("since", &arguments.since),
        ("until", &arguments.until),
        ("order", &arguments.order),
    ];
    for (name, word) in words {
        if let Some(word) = word {
            put(name, serde_json::to_string(word)?);
        }
    }
    let restrained = if arguments.held { "any" } else { "yes" };
    put("restrained", serde_json::to_string(restrained)?);
    let numbers = [
        ("k", arguments.k.map(|k| k.to_string())),
        ("turns", arguments.turns.map(|turns| turns.to_string())),
        ("count", arguments.count.map(|count| count.to_string())),
    ];
    for (name, number) in numbers {
        if let Some(number) = number {
            put(name, number);
        }
    }
    Ok(file)
}

/// The format asked for, else that of the file's name, else text.
fn format(arguments: &Find) -> FindFormat {
    let endings = [
        ("csv", FindFormat::Csv),
        ("html", FindFormat::Html),
        ("json", FindFormat::Json),
        ("pgn", FindFormat::Pgn),
    ];
    let of_file = by_ending(arguments.out.as_deref(), endings);
    arguments.format.or(of_file).unwrap_or(FindFormat::Text)
}
