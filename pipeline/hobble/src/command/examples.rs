//! `hobble examples`

use anyhow::bail;
use hobble_claim::{self as claim, Claim, Wanted};
use hobble_conditions::Overrides;
use hobble_dataset::Dataset;
use hobble_questions::Asked;

use crate::arguments::{Examples, ExamplesFormat};
use crate::command::ask::{by_ending, write_file, write_out};
use crate::words::{say, say_unfinished};

/// Prints or writes examples of a claim.
pub fn run(arguments: &Examples) -> anyhow::Result<bool> {
    let asked = Asked::load(&arguments.question)?;
    let Some(asked) = asked.of_type::<Claim>() else {
        bail!(
            "{}: not a training claim; `hobble questions` lists them",
            arguments.question
        );
    };
    let dataset = Dataset::open(&arguments.data)?;
    let asked = asked.with(&Overrides {
        k: arguments.k,
        within: arguments.within,
        ..Overrides::default()
    })?;
    let wanted = Wanted {
        count: arguments.count,
        opening: arguments.opening.clone(),
        rating: arguments.rating,
        player: arguments.player.clone(),
        phase: arguments.phase.clone(),
    };
    let found = claim::find_examples(&dataset, &asked, &wanted)?;
    say_unfinished(
        &dataset,
        &arguments.data,
        "the examples are of what was scanned so far",
    );
    let text = match format(arguments) {
        ExamplesFormat::Text => claim::examples_text(&found),
        ExamplesFormat::Html => hobble_pages::examples_page(&found)?,
        ExamplesFormat::Json => format!("{}\n", serde_json::to_string_pretty(&found)?),
        ExamplesFormat::Pgn => {
            if found.examples.is_empty() {
                found.notes.iter().for_each(|note| say(note));
            }
            claim::pgn(&found.examples)
        }
    };
    match &arguments.out {
        Some(path) => write_file(path, &text)?,
        None => write_out(&text)?,
    }
    Ok(true)
}

/// The format asked for, else that of the file's name, else text.
fn format(arguments: &Examples) -> ExamplesFormat {
    let endings = [
        ("html", ExamplesFormat::Html),
        ("json", ExamplesFormat::Json),
        ("pgn", ExamplesFormat::Pgn),
    ];
    let of_file = by_ending(arguments.out.as_deref(), endings);
    arguments.format.or(of_file).unwrap_or(ExamplesFormat::Text)
}
