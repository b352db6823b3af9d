//! Positions found by conditions, each of which can be put on the handout.

use axum::extract::State;
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::sort::Sort as _;
use hobble_conditions::{AskError, Given};
use hobble_pages::{Chosen, Place};
use hobble_positions::{PositionSearch, PositionsAnswer, pgn};
use hobble_report::number::{count, counted};
use hobble_report::{Reported as _, plain, plain_short};
use serde::Serialize;
use toml::Value;

use crate::failed::Failed;
use crate::fields::{
    FILLED, Group, GroupView, WHAT_DID_IT, WHERE_AND_WHEN, WHOSE_GAMES, fault, file, form_of, menus,
};
use crate::form::Form;
use crate::page::{self, Answer};
use crate::screens::games::game_query;
use crate::screens::handout;
use crate::screens::reading::caution;
use crate::screens::{Asked, Desk, form};
use crate::shared::Shared;

/// The fields of a search under headings.
const GROUPS: &[Group] = &[
    (
        "The piece",
        &["kinds", "k", "restrained", "turns", "ended", "developed"],
    ),
    WHAT_DID_IT,
    WHERE_AND_WHEN,
    WHOSE_GAMES,
    ("The list", &["order", "count"]),
];

/// What a search starts from.
const START: &str = "format = 1\nabout = \"positions\"\ntitle = \"T\"\ntext = \"x\"\n\
kinds = [\"knight\"]\nk = 1\nrestrained = \"yes\"\ndeveloped = \"yes\"\ncount = 12\n";

/// Most positions on the screen: each has a board.
const MOST: usize = 60;

#[derive(Serialize)]
struct View {
    caution: Option<&'static str>,
    groups: Vec<GroupView>,
    asked: bool,
    wrong: Option<String>,
    found: String,
    positions: Vec<PositionView>,
    /// The search as the query of an address.
    query: String,
    on_handout: usize,
}

/// A position with its board.
#[derive(Serialize)]
pub struct PositionView {
    heading: String,
    caption: String,
    game: String,
    query: String,
    picture: String,
    /// As it is sent back to be put on the handout.
    value: String,
    there: bool,
}

/// The search, and what it found.
pub async fn show(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.heavy(move |desk| {
        let complete = desk.dataset()?.complete();
        let asked = form.get(FILLED).is_some();
        let form = filled(form)?;
        let handout = handout::load(desk)?;
        let mut view = View {
            caution: caution(desk, complete),
            groups: menus(
                &PositionSearch::properties(),
                GROUPS,
                &form,
                if asked { 0 } else { 2 },
            ),
            asked,
            wrong: None,
            found: String::new(),
            positions: Vec::new(),
            query: form.query(&[]),
            on_handout: handout.positions.len(),
        };
        if !asked {
            return desk.screen("positions.html", &view);
        }
        match found(desk, &form) {
            Err(error) => view.wrong = Some(plain_short(&fault(&error?))),
            Ok(answer) => {
                view.positions = positions(&answer, &handout.positions)?;
                view.found = sentence(answer.found, view.positions.len() as u64);
            }
        }
        desk.screen("positions.html", &view)
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

fn sentence(found: u64, shown: u64) -> String {
    match found {
        0 => "No position was found.".to_owned(),
        _ if shown < found => format!(
            "{} found; {} are shown.",
            counted(found, "position"),
            count(shown)
        ),
        _ => format!("{} found.", counted(found, "position")),
    }
}

fn filled(form: Form) -> Result<Form, Failed> {
    if form.get(FILLED).is_some() {
        return Ok(form);
    }
    let search = PositionSearch::parse("found", "found", START)?;
    let mut start = form_of(
        &PositionSearch::properties(),
        &serde_json::to_value(&search)?,
    );
    start.0.push((FILLED.to_owned(), "yes".to_owned()));
    Ok(start)
}

/// What a form asks for. The inner error is the form's own, the outer one of the desk or its tables.
fn found(desk: &Shared, form: &Form) -> Result<PositionsAnswer, Result<AskError, Failed>> {
    let mut table = file(&PositionSearch::properties(), form);
    let head = [
        ("about", "positions"),
        ("title", "Positions found"),
        ("text", "The positions that meet the conditions chosen."),
    ];
    for (name, text) in head {
        table.insert(name.to_owned(), text.into());
    }
    table.insert("format".to_owned(), Value::Integer(1));
    let mut search =
        PositionSearch::parse("found", "found.toml", &table.to_string()).map_err(Ok)?;
    search.count = search.count.min(MOST);
    let dataset = desk.dataset().map_err(Err)?;
    search.ask(&dataset, &Given::default()).map_err(Ok)
}

/// The positions with the boards and words of their report.
fn positions(answer: &PositionsAnswer, on_handout: &[Chosen]) -> Result<Vec<PositionView>, Failed> {
    let report = answer.report();
    let games = report.games().flat_map(|games| &games.games);
    let mut views = Vec::new();
    for (nth, (position, game)) in (1..).zip(answer.positions.iter().zip(games)) {
        let place = Place {
            source: position.game.source.clone(),
            number: position.game.number.into(),
        };
        let query = game_query(&place.source, place.number);
        let Some(chosen) = Chosen::of(game, place) else {
            continue;
        };
        views.push(PositionView {
            heading: format!("{nth}. {}", plain_short(&chosen.heading)),
            caption: plain(&chosen.caption),
            game: plain_short(&game.label),
            query,
            there: on_handout.contains(&chosen),
            value: serde_json::to_string(&chosen)?,
            picture: handout::picture(&chosen, nth)?,
        });
    }
    Ok(views)
}

/// The positions found as a page, or as a file to keep.
pub async fn kept(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.heavy(move |desk| {
        let answer = match found(desk, &filled(form.clone())?) {
            Ok(answer) => answer,
            Err(Ok(error)) => return Err(Failed::bad(fault(&error))),
            Err(Err(failed)) => return Err(failed),
        };
        let report = answer.report();
        match form.get("as") {
            Some("pgn") => Ok(page::file(
                "positions.pgn",
                "application/vnd.chess-pgn",
                pgn(&answer.positions),
            )),
            Some("csv") => Ok(page::file(
                "positions.csv",
                "text/csv; charset=utf-8",
                hobble_report::csv(&report),
            )),
            _ => {
                let query = form.query(&["as"]);
                let back = format!("/positions?{query}");
                let html = hobble_pages::page(&report)?;
                desk.whole_page(&html, &[(&back, "Back to the search")])
            }
        }
    })
    .await
    .map_err(|failed| desk.failure(failed))
}
