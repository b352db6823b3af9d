//! One game as a page: the moves that mattered, a board to step through, scope as a plot, a
//! line for each piece.
//!
//! The board to step through needs script; all else is there without it.

mod mattered;
mod moves;
mod packed;
mod piece_lines;
mod scope;
mod ticks;

use anyhow::Result;
use hobble_report::number::{count, small};
use hobble_report::plain_short;
use hobble_walkthrough::Walkthrough;
use hobble_walkthrough::lines::SHUT_OUT;
use hobble_walkthrough::moments::Rule;
use hobble_walkthrough::words::{safe_squares, turns};
use serde::Serialize;

use crate::board;
use crate::board_key::key_for;
use crate::html::{FactView, Sign};
use crate::script::{self, Script};
use crate::style::{BOARD_STYLE, style};
use crate::templates::fill;
use mattered::MomentView;
pub(crate) use mattered::{PictureView, bottom, marks, picture};
use moves::MoveRow;
use piece_lines::LinesView;
use scope::PlotView;

/// The script of the board, move by move; it needs that of boards before it.
const SCRIPT: &str = include_str!("../templates/game.js");
/// What the style sheet of a game's page has beyond the house's.
const STYLE: &str = include_str!("../templates/game.css");

/// A walk through a game as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where the page cannot be put together.
pub fn game_page(walkthrough: &Walkthrough) -> Result<String> {
    fill("game.html", &View::new(walkthrough)?)
}

#[derive(Serialize)]
struct View {
    style: String,
    #[serde(flatten)]
    script: Script,
    data: String,
    sprite: String,
    title: String,
    over: String,
    about: Vec<FactView>,
    lead: Vec<String>,
    k: String,
    shut_out: String,
    last: usize,
    key: Vec<Sign>,
    live_key: Vec<Sign>,
    moments: Vec<MomentView>,
    rules: Vec<FactView>,
    scope: PlotView,
    lines: LinesView,
    moves: Vec<MoveRow>,
    hobble: &'static str,
    definitions: u32,
}

impl View {
    fn new(walkthrough: &Walkthrough) -> Result<View> {
        let heading = &walkthrough.game.heading;
        Ok(View {
            style: format!("{}{BOARD_STYLE}{STYLE}", style()),
            script: Script::of(&[script::BOARD, SCRIPT]),
            data: packed::data(walkthrough)?,
            sprite: board::symbols(),
            title: plain_short(&heading.name()),
            over: "One game, square by square".to_owned(),
            about: about(walkthrough),
            lead: lead(walkthrough),
            k: most(walkthrough.k),
            shut_out: small(SHUT_OUT as u64),
            last: walkthrough.game.plies.len(),
            key: key(),
            live_key: live_key(),
            moments: mattered::views(walkthrough),
            rules: rules(walkthrough),
            scope: scope::plot(walkthrough),
            lines: piece_lines::view(walkthrough),
            moves: moves::rows(walkthrough),
            hobble: env!("CARGO_PKG_VERSION"),
            definitions: hobble_terms::DEFINITIONS,
        })
    }
}

/// `two safe squares or fewer`, `no safe square`.
pub(crate) fn most(k: u8) -> String {
    match k {
        0 => safe_squares(0),
        k => format!("{} or fewer", safe_squares(usize::from(k))),
    }
}

/// The key of the boards.
pub(crate) fn key() -> Vec<Sign> {
    key_for(true, "the move", "the piece in question")
        .into_iter()
        .map(|(sign, text)| Sign { sign, text })
        .collect()
}

/// The key of the board to step through.
fn live_key() -> Vec<Sign> {
    let texts = [
        "the piece chosen",
        "square just taken",
        "square safe for it",
        "the move",
    ];
    key()
        .into_iter()
        .zip(texts)
        .map(|(sign, text)| Sign { text, ..sign })
        .collect()
}

/// What is known of the game.
fn about(walkthrough: &Walkthrough) -> Vec<FactView> {
    let heading = &walkthrough.game.heading;
    let rating = |rating: Option<u16>| rating.map(|points| points.to_string());
    let at = walkthrough.at.as_ref();
    let ratings = match (rating(heading.white_rating), rating(heading.black_rating)) {
        (None, None) => None,
        (white, black) => {
            let or = |rating: Option<String>| rating.unwrap_or_else(|| "none".to_owned());
            Some(format!("White {}, Black {}", or(white), or(black)))
        }
    };
    let moves = walkthrough.game.plies.len().div_ceil(2) as u64;
    [
        ("Event", heading.event.clone()),
        ("Site", heading.site.clone()),
        ("Date", heading.date.clone()),
        ("Round", heading.round.clone()),
        ("Ratings", ratings),
        ("Result", Some(heading.result.name().to_owned())),
        ("Moves", Some(count(moves))),
        ("Opening code", heading.eco.clone()),
        ("Time control", heading.time_control.clone()),
        ("Start", heading.start_fen.clone()),
        (
            "Game",
            at.filter(|at| at.file != "-")
                .map(|at| format!("{} of {}", at.number, file_name(&at.file))),
        ),
        ("Game id", Some(format!("{:016x}", heading.id))),
    ]
    .into_iter()
    .filter_map(|(name, text)| {
        let text = plain_short(&text?);
        let name = name.to_owned();
        Some(FactView { name, text })
    })
    .collect()
}

/// The name of a file without its folders: a page that is handed on does not show them.
fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// What the game shows, in a few sentences.
fn lead(walkthrough: &Walkthrough) -> Vec<String> {
    let game = &walkthrough.game;
    let show = &walkthrough.show;
    if game.plies.is_empty() {
        return vec![
            "This game has no moves: there is only its first position to look at.".to_owned(),
        ];
    }
    let mut lead = Vec::new();
    lead.push(match show.restraints {
        0 => format!(
            "No piece was restrained in this game: no quiet move left a developed piece {} and \
             kept it so for two turns.",
            most(walkthrough.k)
        ),
        1 => format!("One piece was restrained once, for {}.", turns(show.turns)),
        more => format!(
            "Pieces were restrained {} times, for {} in all.",
            small(more as u64),
            turns(show.turns)
        ),
    });
    let ahead = |side: usize| {
        let positions = &game.positions;
        positions
            .iter()
            .filter(|position| position.scope[side] > position.scope[1 - side])
            .count()
    };
    lead.push(format!(
        "White had the larger scope, more safe squares in all, at {} of the {} positions, Black at {}.",
        ahead(0),
        game.positions.len(),
        ahead(1)
    ));
    lead
}

/// The rules that chose a move of this game.
fn rules(walkthrough: &Walkthrough) -> Vec<FactView> {
    Rule::ALL
        .into_iter()
        .filter(|rule| {
            walkthrough
                .moments
                .iter()
                .any(|moment| moment.rules.contains(rule))
        })
        .map(|rule| FactView {
            name: rule.name().to_owned(),
            text: rule.text().to_owned(),
        })
        .collect()
}
