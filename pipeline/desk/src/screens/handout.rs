//! The handout: positions that were put on it, in an order of one's own; a sheet to print, and PGN.

use std::collections::BTreeSet;
use std::io::Write as _;
use std::time::Duration;

use axum::extract::{Multipart, State};
use hobble_pages::{Chosen, Selection, drawn_board};
use hobble_report::number::counted;
use hobble_report::pgn_text::{comment, tag, wrap};
use hobble_report::{plain, plain_short};
use hobble_terms::DEFINITIONS;
use serde::Serialize;
use tokio::time::timeout;

use crate::failed::Failed;
use crate::page::{Answer, file};
use crate::screens::Desk;
use crate::screens::axum_form::Fields;
use crate::screens::games::game_query;
use crate::shared::Shared;

/// Positions on a handout, at most.
const MOST: usize = 60;
/// Longest title, in characters.
const LONGEST: usize = 120;
/// Most bytes of positions that were saved on a page.
pub const SAVED_BYTES: usize = 2 << 20;
/// Time within which they must have come.
const COMES: Duration = Duration::from_secs(30);
/// Title of a handout that was given none.
const TITLE: &str = "Restrained pieces";

/// The handout of the folder; an empty one where there is none yet.
///
/// # Errors
///
/// Where its file cannot be read.
pub fn load(desk: &Shared) -> Result<Selection, Failed> {
    let path = desk.folder.handout();
    match std::fs::symlink_metadata(&path) {
        Ok(about) if about.is_file() => {}
        _ => return Ok(Selection::new("", DEFINITIONS)),
    }
    let text = std::fs::read_to_string(&path)?;
    Selection::parse(&text).map_err(|error| {
        Failed::conflict(format!(
            "handout.json in the data folder cannot be read: {error:#}. Move it away to begin anew."
        ))
    })
}

fn save(desk: &Shared, handout: &Selection) -> Result<(), Failed> {
    let text = serde_json::to_string_pretty(handout)?;
    let path = desk.folder.handout();
    hobble_report::replace_file(&path, |file| file.write_all(text.as_bytes()))?;
    Ok(())
}

/// Its title for a reader, who may have given it none.
fn title(handout: &Selection) -> String {
    match plain_short(&handout.title) {
        title if title.is_empty() => TITLE.to_owned(),
        title => title,
    }
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
    heading: String,
    caption: String,
    facts: String,
    /// The query that names the game in the tables of this folder, where they have it.
    query: Option<String>,
    picture: String,
    is_first: bool,
    is_last: bool,
}

fn view(desk: &Shared, handout: &Selection) -> Result<View, Failed> {
    let last = handout.positions.len();
    let manifest = desk.folder.manifest()?;
    let sources = manifest.iter().flat_map(|manifest| &manifest.sources);
    let sources: BTreeSet<&str> = sources.map(|source| source.source.as_str()).collect();
    let positions = (1..).zip(&handout.positions).map(|(nth, chosen)| {
        let place = chosen.game.as_ref();
        let place = place.filter(|place| sources.contains(place.source.as_str()));
        Ok(PositionView {
            nth,
            heading: plain_short(&chosen.heading),
            caption: plain(&chosen.caption),
            facts: chosen.facts(),
            query: place.map(|place| game_query(&place.source, place.number)),
            picture: picture(chosen, nth)?,
            is_first: nth == 1,
            is_last: nth == last,
        })
    });
    Ok(View {
        title: title(handout),
        positions: positions.collect::<Result<_, Failed>>()?,
        number: counted(last as u64, "position"),
    })
}

/// The board of a position with its marks, as SVG.
///
/// # Errors
///
/// Where the position or a square cannot be read.
pub fn picture(chosen: &Chosen, nth: usize) -> Result<String, Failed> {
    let (picture, _) = drawn_board(&chosen.solved(nth)?)?;
    Ok(picture)
}

/// The handout as it is filled.
pub async fn show(State(desk): Desk) -> Answer {
    desk.work(|desk| desk.screen("handout.html", &view(desk, &load(desk)?)?))
        .await
        .map_err(|failed| desk.failure(failed))
}

/// The sheet to print: tasks, then answers.
pub async fn sheet(State(desk): Desk) -> Answer {
    desk.work(|desk| {
        let handout = load(desk)?;
        let html = handout.handout(Some(&title(&handout)))?;
        desk.whole_page(&html, &[("/handout", "Back to the handout")])
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// Puts positions behind those on the handout; those that are there already are passed over.
fn put(desk: &Shared, mut new: Selection) -> Result<(), Failed> {
    let mut handout = load(desk)?;
    for chosen in std::mem::take(&mut new.positions) {
        picture(&chosen, 1).map_err(|failed| {
            Failed::bad(format!("A position cannot be shown: {}", failed.line))
        })?;
        if !handout.positions.contains(&chosen) && !new.positions.contains(&chosen) {
            new.positions.push(chosen);
        }
    }
    handout.add(new).map_err(refused)?;
    if handout.positions.len() > MOST {
        return Err(Failed::bad(format!(
            "A handout has {MOST} positions at most."
        )));
    }
    save(desk, &handout)
}

/// What is wrong with a selection.
fn refused(error: anyhow::Error) -> Failed {
    Failed::bad(format!("{error:#}"))
}

/// Puts positions found on the handout.
pub async fn add(State(desk): Desk, Fields(form): Fields) -> Answer {
    desk.work(move |desk| {
        let positions = form.all("position").map(serde_json::from_str);
        let positions = positions.collect::<Result<_, _>>();
        let mut found = Selection::new("", DEFINITIONS);
        found.positions =
            positions.map_err(|_| Failed::bad("That is not a position of this desk."))?;
        put(desk, found)?;
        Ok(desk.go("/handout"))
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// Puts positions on the handout that were saved on a page.
pub async fn add_saved(State(desk): Desk, mut body: Multipart) -> Answer {
    let comes = timeout(COMES, async {
        let field = body.next_field().await.ok()??;
        field.text().await.ok()
    });
    let Ok(Some(text)) = comes.await else {
        let failed = Failed::bad("The file did not come whole, or is not text.");
        return Err(desk.failure(failed));
    };
    desk.work(move |desk| {
        put(desk, Selection::parse(&text).map_err(refused)?)?;
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

/// The positions as a file for `hobble handout --from`, or as PGN: each a game from its position on,
/// without moves, with a comment.
pub async fn kept(State(desk): Desk, path: axum::http::Uri) -> Answer {
    desk.work(move |desk| {
        let handout = load(desk)?;
        if path.path().ends_with(".json") {
            let text = serde_json::to_string_pretty(&handout)?;
            return Ok(file("handout.json", "application/json", text));
        }
        Ok(file(
            "handout.pgn",
            "application/vnd.chess-pgn",
            pgn(&handout),
        ))
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

fn pgn(handout: &Selection) -> String {
    let mut out = String::new();
    for (nth, chosen) in (1..).zip(&handout.positions) {
        for (name, value) in [
            ("Event", title(handout).as_str()),
            ("Site", "?"),
            ("Date", "????.??.??"),
            ("Round", &nth.to_string()),
            ("White", "?"),
            ("Black", "?"),
            ("Result", "*"),
            ("SetUp", "1"),
            ("FEN", &chosen.fen),
        ] {
            tag(&mut out, name, value);
        }
        out.push('\n');
        let mut words = Vec::new();
        comment(
            &mut words,
            &format!("{} {}.", chosen.caption, chosen.facts()),
        );
        words.push("*".to_owned());
        wrap(&mut out, &words);
    }
    out
}
