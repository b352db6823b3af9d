//! Players: found by a few letters, and the page of one.

use axum::extract::State;
use hobble_conditions::{Given, Player as Named};
use hobble_report::number::{count, counted};
use hobble_report::plain_short;
use hobble_terms::Table;
use serde::Serialize;

use crate::failed::Failed;
use crate::form::Form;
use crate::page::{Answer, json};
use crate::screens::questions::{Kept, answered, kept};
use crate::screens::reading::caution;
use crate::screens::{Asked, Desk, form};
use crate::shared::Shared;
use crate::tables::player_list::{Player, players};

/// Players listed at a time.
const LISTED: usize = 24;
/// The question about a player.
const HABITS: &str = "own-habits";

#[derive(Serialize)]
struct View {
    letters: String,
    caution: Option<&'static str>,
    #[serde(flatten)]
    list: ListView,
}

/// The players found, as the page and its script show them.
#[derive(Serialize)]
struct ListView {
    found: String,
    players: Vec<PlayerView>,
}

#[derive(Serialize)]
struct PlayerView {
    name: String,
    about: String,
    query: String,
}

impl PlayerView {
    fn of(player: &Player) -> PlayerView {
        let mut about = vec![counted(player.games, "game")];
        if let Some((low, high)) = player.ratings {
            about.push(match low == high {
                true => format!("rated {low}"),
                false => format!("rated {low} to {high}"),
            });
        }
        if let Some((first, last)) = &player.dates {
            about.push(format!("{} to {}", plain_short(first), plain_short(last)));
        }
        if let Some(spellings) = &player.spellings {
            about.push(format!("also written {}", plain_short(spellings)));
        }
        let title = player.title.as_deref().map(|title| format!(", {title}"));
        PlayerView {
            name: format!(
                "{}{}",
                plain_short(&player.name),
                plain_short(&title.unwrap_or_default())
            ),
            about: about.join("; "),
            query: serde_urlencoded::to_string([("name", &player.name)]).unwrap_or_default(),
        }
    }
}

/// The list of players.
pub async fn show(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.work(move |desk| {
        let letters = form.get("letters").unwrap_or_default();
        let complete = desk.dataset()?.complete();
        let view = View {
            letters: letters.to_owned(),
            caution: caution(desk, complete),
            list: list(desk, letters)?,
        };
        desk.screen("players.html", &view)
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// The same for the script.
pub async fn found(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.work(move |desk| json(&list(desk, form.get("letters").unwrap_or_default())?))
        .await
        .map_err(|failed| desk.failure(failed))
}

fn list(desk: &Shared, letters: &str) -> Result<ListView, Failed> {
    let dataset = desk.dataset()?;
    if !dataset.has(Table::Players) {
        return Ok(ListView {
            found: "The list of players is made when all files have been read to their end."
                .to_owned(),
            players: Vec::new(),
        });
    }
    let (number, some) = players(&dataset, letters, LISTED)?;
    Ok(ListView {
        found: match number {
            0 => "No player’s name begins so.".to_owned(),
            _ if number <= LISTED => format!("{}.", counted(number as u64, "player")),
            _ => format!(
                "{}; the {LISTED} with most games are shown. Type more letters.",
                count(number as u64)
            ),
        },
        players: some.iter().map(PlayerView::of).collect(),
    })
}

#[derive(Serialize)]
struct OneView {
    name: String,
    value: String,
    /// Names of the same surname, which may be the same player.
    others: Vec<OtherView>,
}

#[derive(Serialize)]
struct OtherView {
    name: String,
    value: String,
    about: String,
}

/// One player: which names belong together, then the page.
pub async fn one(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.work(move |desk| {
        let name = form.get("name").unwrap_or_default();
        let dataset = desk.dataset()?;
        let surname = name.split(',').next().unwrap_or(name);
        let surname = match name.contains(',') {
            true => surname,
            false => name.split_whitespace().last().unwrap_or(name),
        };
        let others = match dataset.has(Table::Players) && !surname.is_empty() {
            true => players(&dataset, surname, LISTED)?.1,
            false => Vec::new(),
        };
        let others = others.iter().filter(|other| other.name != name);
        let view = OneView {
            name: plain_short(name),
            value: name.to_owned(),
            others: others
                .map(|other| OtherView {
                    name: plain_short(&other.name),
                    value: other.name.clone(),
                    about: PlayerView::of(other).about,
                })
                .collect(),
        };
        desk.screen("player.html", &view)
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// The page of a player's habits, or its figures.
pub async fn habits(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.heavy(move |desk| {
        let name = form.get("name").unwrap_or_default();
        if name.is_empty() {
            return Err(Failed::bad("No player was named."));
        }
        let given = Given {
            player: Some(player(&form, name)),
            ..Given::default()
        };
        let answer = answered(desk, HABITS, &given)?;
        let query = form.query(&["as"]);
        if let Some(kind) = form.get("as") {
            return kept(desk, &answer, HABITS, Kept::of(kind)?);
        }
        let html = hobble_pages::page(&answer.report())?;
        let games = serde_urlencoded::to_string([("player", name)])?;
        desk.whole_page(
            &html,
            &[
                ("/players", "All players"),
                (&format!("/games?{games}"), "This player’s games"),
                (&format!("/habits?{query}&as=csv"), "Figures as CSV"),
                (&format!("/habits?{query}&as=json"), "as JSON"),
            ],
        )
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

fn player(form: &Form, name: &str) -> Named {
    Named {
        name: name.to_owned(),
        aliases: form.all("also").map(str::to_owned).collect(),
    }
}
