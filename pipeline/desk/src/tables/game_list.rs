//! Games by player, event and date.

use hobble_conditions::AskError;
use hobble_dataset::columns::{Read, Rows, Texts};
use hobble_dataset::{Dataset, Part};
use hobble_terms::Table;
use rayon::prelude::*;

/// Which games are looked for. What is empty asks nothing.
#[derive(Clone, Debug, Default)]
pub struct Wanted {
    /// Part of the name of a player, in small or capital letters.
    pub player: String,
    /// Part of the name of the other player.
    pub other: String,
    /// Part of the name of an event.
    pub event: String,
    /// First date, as the tag has it, or its beginning: `2031`, `2031.04`.
    pub since: String,
    /// Last date, in the same way.
    pub until: String,
}

/// A game of the tables.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Its source: the folder in every table.
    pub source: String,
    /// Its number there.
    pub number: u64,
    /// White's name.
    pub white: Option<String>,
    /// Black's name.
    pub black: Option<String>,
    /// The event.
    pub event: Option<String>,
    /// The date, as the tag has it.
    pub date: Option<String>,
    /// The result.
    pub result: String,
    /// Plies played.
    pub plies: u64,
}

/// The games found: how many, and some of them.
#[derive(Clone, Debug, Default)]
pub struct Games {
    /// Games that are meant.
    pub number: usize,
    /// Those asked for, in the order of the tables.
    pub some: Vec<Found>,
}

/// Looks for games; of those found, `most` are read from the `first` on, counted from 0.
///
/// # Errors
///
/// Where the table of games is missing or unreadable.
pub fn games(
    dataset: &Dataset,
    wanted: &Wanted,
    first: usize,
    most: usize,
) -> Result<Games, AskError> {
    let parts = dataset.parts(Table::Games)?;
    let up_to = first.saturating_add(most);
    let found: Vec<(usize, Vec<usize>)> = parts
        .par_iter()
        .map(|part| of_part(part, wanted, up_to))
        .collect::<Result<_, _>>()?;
    let number = found.iter().map(|(number, _)| number).sum();
    let (mut some, mut passed) = (Vec::new(), 0);
    for (part, (number, places)) in parts.iter().zip(found) {
        // Of each part, places up to the last that can be asked for are known.
        for place in places.into_iter().skip(first.saturating_sub(passed)) {
            if some.len() < most {
                some.push(game(part, place)?);
            }
        }
        passed += number;
    }
    Ok(Games { number, some })
}

/// How many games of a part are meant, and where the first of them stand.
fn of_part(part: &Part, wanted: &Wanted, up_to: usize) -> Result<(usize, Vec<usize>), AskError> {
    let (mut number, mut places) = (0, Vec::new());
    part.each(&["white", "black", "event", "date"], |rows| {
        let (white, black) = (rows.texts("white")?, rows.texts("black")?);
        let one = (has(&white, &wanted.player), has(&black, &wanted.player));
        let other = (has(&white, &wanted.other), has(&black, &wanted.other));
        let event = has(&rows.texts("event")?, &wanted.event);
        let date = rows.texts("date")?.read_as(|date| is_between(date, wanted));
        for row in 0..rows.len() {
            let players = one.0.at(row) && other.1.at(row) || one.1.at(row) && other.0.at(row);
            if players && event.at(row) && date.at(row) {
                number += 1;
                if places.len() < up_to {
                    places.push(rows.place(row));
                }
            }
        }
        Ok::<_, AskError>(())
    })?;
    Ok((number, places))
}

/// Which texts have a part, in small or capital letters.
fn has<'a>(texts: &Texts<'a>, part: &str) -> Read<'a, bool> {
    let part = part.to_lowercase();
    let holds = |text: &str| text.to_lowercase().contains(&part);
    texts.read_as(|text| part.is_empty() || text.is_some_and(holds))
}

/// Whether a date is not before the first and not behind the last. A part that is not known is what
/// suits; without any date a game is found only where no date is asked for.
fn is_between(date: Option<&str>, wanted: &Wanted) -> bool {
    if wanted.since.is_empty() && wanted.until.is_empty() {
        return true;
    }
    let known = date.and_then(|date| date.split(".?").next());
    known
        .filter(|known| !known.starts_with('?'))
        .is_some_and(|date| {
            let begins = |bound: &str| bound.starts_with(date) || date.starts_with(bound);
            let since = wanted.since.is_empty() || begins(&wanted.since) || *date >= *wanted.since;
            let until = wanted.until.is_empty() || begins(&wanted.until) || *date <= *wanted.until;
            since && until
        })
}

/// What is said of a game.
fn game(part: &Part, place: usize) -> Result<Found, AskError> {
    let columns = ["game", "white", "black", "event", "date", "result", "plies"];
    let rows: Rows = part.read_row(&columns, place)?;
    let text = |name: &str| -> Result<Option<String>, AskError> {
        Ok(rows.texts(name)?.get(0).map(str::to_owned))
    };
    Ok(Found {
        source: part.source().to_owned(),
        number: rows.first_number("game")?,
        white: text("white")?,
        black: text("black")?,
        event: text("event")?,
        date: text("date")?,
        result: rows.first_text("result")?,
        plies: rows.first_number("plies")?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_may_be_known_in_part() {
        let wanted = |since: &str, until: &str| Wanted {
            since: since.to_owned(),
            until: until.to_owned(),
            ..Wanted::default()
        };
        for (date, since, until, expected) in [
            (Some("2031.04.05"), "2031", "2031", true),
            (Some("2031.04.05"), "2031.04.05", "", true),
            (Some("2031.04.05"), "2031.04.06", "", false),
            (Some("2031.04.05"), "", "2031.03", false),
            (Some("2031.??.??"), "2031.04", "2031.05", true),
            (Some("????.??.??"), "2031", "", false),
            (None, "2031", "", false),
            (None, "", "", true),
        ] {
            assert_eq!(
                is_between(date, &wanted(since, until)),
                expected,
                "{date:?}"
            );
        }
    }
}
