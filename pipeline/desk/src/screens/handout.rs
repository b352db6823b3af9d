//! The handout: positions that were put on it, in an order of one's own; a sheet to print, and PGN.

use std::io::Write as _;

use axum::extract::State;
use hobble_report::number::counted;
use hobble_report::pgn_text::{comment, tag, wrap};
use hobble_report::{plain, plain_short};
use serde::{Deserialize, Serialize};

use crate::failed::Failed;
use crate::page::{Answer, file};
use crate::picture::{Drawn, Shown};
use crate::screens::Desk;
use crate::screens::axum_form::Fields;
use crate::shared::Shared;

/// Positions on a handout, at most.
const MOST: usize = 60;
/// Longest title, in characters.
const LONGEST: usize = 120;

/// The handout that is being filled.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Handout {
    /// Its title.
    pub title: String,
    /// Its positions, in order.
    pub positions: Vec<Shown>,
}

impl Handout {
    /// Its title for a reader, who may have given it none.
    fn shown_title(&self) -> String {
        match plain_short(&self.title) {
            title if title.is_empty() => "Restrained pieces".to_owned(),
            title => title,
        }
    }
}

/// The handout of the folder; an empty one where there is none yet.
///
/// # Errors
///
/// Where its file cannot be read.
pub fn load(desk: &Shared) -> Result<Handout, Failed> {
    let path = desk.folder.handout();
    match std::fs::symlink_metadata(&path) {
        Ok(about) if about.is_file() => {}
        _ => return Ok(Handout::default()),
    }
    let text = std::fs::read_to_string(&path)?;
    serde_json::from_str(&text)
        .map_err(|error| Failed::conflict(format!("handout.json cannot be read: {error}")))
}

fn save(desk: &Shared, handout: &Handout) -> Result<(), Failed> {
    let text = serde_json::to_string_pretty(handout)?;
    let path = desk.folder.handout();
    hobble_report::replace_file(&path, |file| file.write_all(text.as_bytes()))?;
    Ok(())
}

#[derive(Serialize)]
struct View {
    title: String,
    positions: Vec<PositionView>,
    number: String,
}

#[derive(Serialize)]
struct PositionView {
    nth: usize,
    piece: String,
    task: String,
    caption: String,
    game: String,
    query: String,
    marked: Drawn,
    plain: Drawn,
    is_first: bool,
    is_last: bool,
}

fn view(handout: &Handout) -> View {
    let last = handout.positions.len();
    let positions = (1..).zip(&handout.positions).filter_map(|(nth, shown)| {
        Some(PositionView {
            nth,
            piece: shown.piece(),
            task: format!("{}: which of its squares are safe?", shown.piece()),
            caption: plain(&shown.caption),
            game: plain_short(&shown.game),
            query: shown.query.clone(),
            marked: shown.draw(&format!("answer-{nth}"), true)?,
            plain: shown.draw(&format!("task-{nth}"), false)?,
            is_first: nth == 1,
            is_last: nth == last,
        })
    });
    View {
        title: handout.shown_title(),
        positions: positions.collect(),
        number: counted(last as u64, "position"),
    }
}

/// The handout as it is filled.
pub async fn show(State(desk): Desk) -> Answer {
    desk.work(|desk| desk.screen("handout.html", &view(&load(desk)?)))
        .await
        .map_err(|failed| desk.failure(failed))
}

/// The sheet to print: tasks, then answers.
pub async fn sheet(State(desk): Desk) -> Answer {
    desk.work(|desk| desk.screen("sheet.html", &view(&load(desk)?)))
        .await
        .map_err(|failed| desk.failure(failed))
}

/// Puts positions on the handout.
pub async fn add(State(desk): Desk, Fields(form): Fields) -> Answer {
    desk.work(move |desk| {
        let mut handout = load(desk)?;
        for text in form.all("position") {
            let shown: Shown = serde_json::from_str(text)
                .map_err(|_| Failed::bad("That is not a position of this desk."))?;
            if shown.draw("x", true).is_none() {
                return Err(Failed::bad("That position cannot be drawn."));
            }
            if !handout.positions.contains(&shown) {
                handout.positions.push(shown);
            }
        }
        if handout.positions.len() > MOST {
            return Err(Failed::bad(format!(
                "A handout has {MOST} positions at most."
            )));
        }
        save(desk, &handout)?;
        Ok(desk.go("/handout"))
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// Moves a position up or down, takes it off, names the handout or empties it.
pub async fn change(State(desk): Desk, Fields(form): Fields) -> Answer {
    desk.work(move |desk| {
        let mut handout = load(desk)?;
        let positions = &mut handout.positions;
        let nth = form.number("nth").and_then(|nth| usize::try_from(nth).ok());
        let at = nth.and_then(|nth| nth.checked_sub(1));
        let at = at.filter(|at| *at < positions.len());
        match (form.get("do"), at) {
            (Some("up"), Some(at)) if at > 0 => positions.swap(at, at - 1),
            (Some("down"), Some(at)) if at + 1 < positions.len() => positions.swap(at, at + 1),
            (Some("remove"), Some(at)) => drop(positions.remove(at)),
            (Some("empty"), _) => positions.clear(),
            (Some("name"), _) => {
                let title = form.get("title").unwrap_or_default();
                handout.title = title.chars().take(LONGEST).collect();
            }
            _ => return Err(Failed::bad("There is no such position on the handout.")),
        }
        save(desk, &handout)?;
        Ok(desk.go("/handout"))
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// The positions as PGN: each a game from its position on, without moves, with a comment.
pub async fn pgn(State(desk): Desk) -> Answer {
    desk.work(|desk| {
        let handout = load(desk)?;
        let mut out = String::new();
        for (nth, shown) in (1..).zip(&handout.positions) {
            for (name, value) in [
                ("Event", handout.shown_title().as_str()),
                ("Site", "?"),
                ("Date", "????.??.??"),
                ("Round", &nth.to_string()),
                ("White", "?"),
                ("Black", "?"),
                ("Result", "*"),
                ("SetUp", "1"),
                ("FEN", &shown.fen),
            ] {
                tag(&mut out, name, value);
            }
            out.push('\n');
            let mut words = Vec::new();
            comment(&mut words, &format!("{}. {}", shown.caption, shown.game));
            words.push("*".to_owned());
            wrap(&mut out, &words);
        }
        Ok(file("handout.pgn", "application/vnd.chess-pgn", out))
    })
    .await
    .map_err(|failed| desk.failure(failed))
}
