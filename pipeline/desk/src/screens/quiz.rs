//! A quiz: positions in which exactly one quiet move restrains a piece, by conditions, as a page to click
//! through, a sheet to print, or PGN.

use std::str::FromStr as _;

use axum::extract::State;
use hobble_conditions::Opening;
use hobble_conditions::terms::Place;
use hobble_quiz::difficulty::Level;
use hobble_quiz::{Wanted, pgn, quiz};
use hobble_report::plain_short;
use hobble_terms::{Kind, Phase, TimeClass, Word as _};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::json;

use crate::failed::Failed;
use crate::fields::{Group, GroupView, Properties, menus};
use crate::form::Form;
use crate::page::{Answer, file};
use crate::screens::reading::caution;
use crate::screens::{Asked, Desk, form};

/// The fields under headings.
const GROUPS: &[Group] = &[
    ("The positions", &["kinds", "phase", "difficulty", "stands"]),
    ("How many", &["count", "skip"]),
    ("Who is to move", &["to_move", "player", "rating"]),
    ("Which games", &["opening", "time_class"]),
];

/// Positions where the form does not say how many.
const COUNT: usize = 24;
/// Positions, at most: each has two boards.
const MOST: usize = 100;
/// Positions passed over, at most.
const MOST_SKIPPED: usize = 100_000;

/// What may be asked, as a sort of question declares its fields.
fn properties() -> Properties {
    let some = |words| json!({"type": "array", "items": {"enum": words}});
    let number = |most: usize, text| json!({"type": "integer", "minimum": 0, "maximum": most, "description": text});
    vec![
        ("kinds", some(json!(Kind::WORDS))),
        ("phase", some(json!(Phase::ALL))),
        ("difficulty", some(json!(Level::WORDS))),
        ("count", number(MOST, "")),
        (
            "skip",
            number(
                MOST_SKIPPED,
                "The order is always the same: after a quiz of 24, pass over 24 for the next one.",
            ),
        ),
        ("stands", some(json!(Place::WORDS))),
        ("to_move", json!({"enum": ["any", "white", "black"]})),
        (
            "player",
            json!({"type": "string", "description": "Part of the name of the player on move."}),
        ),
        (
            "rating",
            json!({
                "type": "object",
                "properties": {"at_least": {"minimum": 0, "maximum": 4000}},
                "description": "Rating of the player on move.",
            }),
        ),
        (
            "opening",
            json!({
                "type": "array",
                "description": "ECO codes, beginnings of these, as B9, or names, as sicilian.",
            }),
        ),
        ("time_class", some(json!(TimeClass::WORDS))),
    ]
}

#[derive(Serialize)]
struct View {
    caution: Option<&'static str>,
    groups: Vec<GroupView>,
}

/// The form, filled as the address says.
pub async fn show(State(desk): Desk, asked: Asked) -> Answer {
    let mut form = form(asked);
    desk.work(move |desk| {
        let complete = desk.dataset()?.complete();
        if form.get("count").is_none() {
            form.0.push(("count".to_owned(), COUNT.to_string()));
        }
        let view = View {
            caution: caution(desk, complete),
            groups: menus(&properties(), GROUPS, &form, 2),
        };
        desk.screen("quiz.html", &view)
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// The quiz: a page, or a file to keep.
pub async fn made(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.heavy(move |desk| {
        let made = quiz(&desk.dataset()?, &wanted(&form)?)?;
        if made.positions.is_empty() {
            let notes = made.notes.join(" ");
            return Err(Failed::missing(format!("No position was found. {notes}")));
        }
        let back = format!("/quiz?{}", form.query(&["as"]));
        let ways = [(back.as_str(), "Back to the quiz")];
        match form.get("as") {
            Some("pgn") => Ok(file("quiz.pgn", "application/vnd.chess-pgn", pgn(&made))),
            Some("sheet") => desk.whole_page(&hobble_pages::quiz_sheet(&made)?, &ways),
            _ => desk.whole_page(&hobble_pages::quiz_page(&made)?, &ways),
        }
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// What a form asks for.
fn wanted(form: &Form) -> Result<Wanted, Failed> {
    let number = |name: &str, most: usize| match form.get(name) {
        None => Ok(None),
        Some(text) => match text.parse::<usize>() {
            Ok(number) if number <= most => Ok(Some(number)),
            _ => Err(Failed::bad(format!(
                "{name}: a whole number up to {most} is wanted."
            ))),
        },
    };
    let openings = form.all("opening").flat_map(str::lines).map(str::trim);
    let openings = openings.filter(|line| !line.is_empty());
    let openings = openings.map(|line| Opening::from_str(line).map_err(Failed::bad));
    let rating = |side: &str| -> Result<Option<u16>, Failed> {
        let text = form.get(&format!("rating.{side}"));
        let number = text.map(str::parse).transpose();
        number.map_err(|_| Failed::bad("Ratings are whole numbers."))
    };
    let rating = match (rating("at_least")?, rating("at_most")?) {
        (None, None) => None,
        (low, high) => Some((low.unwrap_or(0), high.unwrap_or(u16::MAX))),
    };
    Ok(Wanted {
        count: number("count", MOST)?.unwrap_or(COUNT).max(1),
        skip: number("skip", MOST_SKIPPED)?.unwrap_or(0),
        kinds: words(form, "kinds")?,
        phase: words(form, "phase")?,
        stands: words(form, "stands")?,
        time_class: words(form, "time_class")?,
        white_to_move: match form.get("to_move") {
            Some("white") => Some(true),
            Some("black") => Some(false),
            _ => None,
        },
        level: words(form, "difficulty")?,
        opening: openings.collect::<Result<_, _>>()?,
        rating,
        player: form.get("player").map(str::to_owned),
    })
}

/// The words chosen in a menu.
fn words<T: DeserializeOwned>(form: &Form, name: &str) -> Result<Vec<T>, Failed> {
    let words = form.all(name).map(|word| {
        serde_json::from_value(word.into())
            .map_err(|_| Failed::bad(format!("{name}: there is no {:?}.", plain_short(word))))
    });
    words.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(pairs: &[(&str, &str)]) -> Result<Wanted, Failed> {
        let pairs = pairs.iter();
        wanted(&Form(
            pairs
                .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()))
                .collect(),
        ))
    }

    #[test]
    fn a_form_says_what_is_wanted() {
        let every: Vec<(&str, &str)> = vec![
            ("kinds", "rook"),
            ("kinds", "queen"),
            ("phase", "endgame"),
            ("difficulty", "hard"),
            ("count", "7"),
            ("skip", "3"),
            ("stands", "rim"),
            ("to_move", "black"),
            ("player", " Cobble "),
            ("rating.at_least", "1600"),
            ("opening", "B9\n\nfrench"),
            ("time_class", "blitz"),
        ];
        let wanted = asked(&every).unwrap();
        let expected = Wanted {
            count: 7,
            skip: 3,
            kinds: vec![Kind::Rook, Kind::Queen],
            phase: vec![Phase::Endgame],
            stands: vec![Place::Rim],
            time_class: vec![TimeClass::Blitz],
            white_to_move: Some(false),
            level: vec![Level::Hard],
            opening: vec!["B9".parse().unwrap(), "french".parse().unwrap()],
            rating: Some((1600, u16::MAX)),
            player: Some("Cobble".to_owned()),
        };
        assert_eq!(wanted, expected);
        assert_eq!(asked(&[]).unwrap().count, COUNT);
    }

    #[test]
    fn what_is_wrong_is_named() {
        for (name, value, line) in [
            (
                "count",
                "many",
                "count: a whole number up to 100 is wanted.",
            ),
            ("kinds", "pawn", "kinds: there is no \"pawn\"."),
            ("rating.at_most", "-1", "Ratings are whole numbers."),
        ] {
            assert_eq!(asked(&[(name, value)]).unwrap_err().line, line);
        }
        assert!(asked(&[("opening", "zzz")]).is_err());
    }

    #[test]
    fn every_field_is_in_a_group() {
        let grouped: Vec<&str> = GROUPS
            .iter()
            .flat_map(|(_, names)| names.iter().copied())
            .collect();
        for (name, _) in properties() {
            assert!(grouped.contains(&name), "{name}");
        }
    }
}
