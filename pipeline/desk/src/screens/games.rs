//! Games: searched by player, event and date; one told in squares; as PGN.

use axum::extract::State;
use hobble_report::number::{count, counted};
use hobble_report::plain_short;
use hobble_walkthrough::Walkthrough;
use hobble_walkthrough::follow::Follower;
use serde::Serialize;

use crate::failed::Failed;
use crate::form::Form;
use crate::page::{Answer, file};
use crate::screens::reading::caution;
use crate::screens::{Asked, Desk, form};
use crate::shared::Shared;
use crate::tables::game_list::{Found, Wanted, games};
use crate::tables::game_text::game_text;

/// Games on a page of the list.
const A_PAGE: usize = 40;
/// Games in one file to keep, at most.
const MOST_KEPT: usize = 2000;

#[derive(Serialize)]
struct View {
    asked: AskedView,
    found: String,
    caution: Option<&'static str>,
    games: Vec<GameView>,
    /// Addresses of the pages before and after.
    before: Option<String>,
    after: Option<String>,
    /// Address of these games as PGN, and what it says of their number.
    pgn: Option<String>,
    most: String,
    /// Address of a lesson of these games.
    lesson: Option<String>,
}

#[derive(Serialize)]
struct AskedView {
    player: String,
    other: String,
    event: String,
    since: String,
    until: String,
}

/// A game as a line.
#[derive(Serialize)]
pub struct GameView {
    /// Who played.
    pub name: String,
    /// When and where, and how it ended.
    pub about: String,
    /// The query that names it.
    pub query: String,
}

impl GameView {
    fn of(game: &Found) -> GameView {
        let name = |name: &Option<String>| {
            let name = name.as_deref().unwrap_or("unknown player");
            plain_short(name)
        };
        let about: Vec<String> = [&game.event, &game.date]
            .into_iter()
            .flatten()
            .map(|text| plain_short(text))
            .chain([game.result.clone(), counted(game.plies.div_ceil(2), "move")])
            .collect();
        GameView {
            name: format!("{} – {}", name(&game.white), name(&game.black)),
            about: about.join(", "),
            query: game_query(&game.source, game.number),
        }
    }
}

/// The query that names a game of the tables.
pub fn game_query(source: &str, number: u64) -> String {
    let pairs = [("source", source), ("game", &number.to_string())];
    serde_urlencoded::to_string(pairs).unwrap_or_default()
}

/// What is looked for, by a form.
pub fn wanted(form: &Form) -> Wanted {
    let text = |name: &str| form.get(name).unwrap_or_default().to_owned();
    let date = |name: &str| text(name).replace('-', ".");
    Wanted {
        player: text("player"),
        other: text("other"),
        event: text("event"),
        since: date("since"),
        until: date("until"),
    }
}

/// The list of games.
pub async fn show(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.work(move |desk| list(desk, &form))
        .await
        .map_err(|failed| desk.failure(failed))
}

fn list(desk: &Shared, form: &Form) -> Result<axum::response::Response, Failed> {
    let dataset = desk.dataset()?;
    let wanted = wanted(form);
    let page = form.number("page").unwrap_or(1).clamp(1, 1_000_000) as usize;
    let first = (page - 1) * A_PAGE;
    let found = games(&dataset, &wanted, first, A_PAGE)?;
    let query = form.query(&["page"]);
    let to = |page: usize| {
        format!(
            "?{query}{}page={page}",
            if query.is_empty() { "" } else { "&" }
        )
    };
    let number = found.number;
    let view = View {
        found: match number {
            0 => "No game was found.".to_owned(),
            _ if number <= A_PAGE => format!("{}.", counted(number as u64, "game")),
            _ => format!(
                "{}: {} to {} are on this page.",
                counted(number as u64, "game"),
                count((first + 1).min(number) as u64),
                count((first + found.some.len()) as u64)
            ),
        },
        caution: caution(desk, dataset.complete()),
        games: found.some.iter().map(GameView::of).collect(),
        before: (page > 1).then(|| to(page - 1)),
        after: (first + A_PAGE < number).then(|| to(page + 1)),
        pgn: (number > 0).then(|| format!("{}/games.pgn?{query}", desk.base)),
        lesson: (number > 0).then(|| format!("{}/lessons?of=games&{query}", desk.base)),
        most: match number > MOST_KEPT {
            true => format!(", the first {}", count(MOST_KEPT as u64)),
            false => String::new(),
        },
        asked: AskedView {
            player: wanted.player,
            other: wanted.other,
            event: wanted.event,
            since: wanted.since,
            until: wanted.until,
        },
    };
    desk.screen("games.html", &view)
}

/// The games found as PGN, from the tables.
pub async fn pgn(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.heavy(move |desk| {
        let dataset = desk.dataset()?;
        let found = games(&dataset, &wanted(&form), 0, MOST_KEPT)?;
        let mut out = String::new();
        for game in &found.some {
            out.push_str(&game_text(&dataset, &game.source, game.number)?.unwrap_or_default());
        }
        Ok(file("games.pgn", "application/vnd.chess-pgn", out))
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// The text of the game that a form names.
fn named(desk: &Shared, form: &Form) -> Result<String, Failed> {
    let source = form.get("source").unwrap_or_default();
    let number = form.number("game").unwrap_or_default();
    let text = game_text(&desk.dataset()?, source, number)?;
    text.ok_or_else(|| Failed::missing("There is no such game in this folder."))
}

/// A game told in squares.
pub async fn game(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.heavy(move |desk| {
        let text = named(desk, &form)?;
        let mut follower = Follower::new();
        let followed = follower
            .follow(text.as_bytes())
            .map_err(|skip| anyhow::anyhow!("this game cannot be told: {skip}"))?;
        let k = form.number("k").unwrap_or(2).min(4) as u8;
        let html = hobble_pages::game_page(&Walkthrough::new(followed, k))?;
        let query = form.query(&[]);
        let pgn = format!("/game.pgn?{query}");
        desk.whole_page(
            &html,
            &[("/games", "All games"), (&pgn, "This game as PGN")],
        )
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// A game with comments in words, as PGN.
pub async fn game_pgn(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.work(move |desk| {
        let text = named(desk, &form)?;
        let mut follower = Follower::new();
        let annotated = match follower.follow(text.as_bytes()) {
            Ok(followed) => hobble_walkthrough::pgn::pgn(&Walkthrough::new(followed, 2)),
            // What cannot be followed can be kept all the same.
            Err(_) => text,
        };
        Ok(file("game.pgn", "application/vnd.chess-pgn", annotated))
    })
    .await
    .map_err(|failed| desk.failure(failed))
}
