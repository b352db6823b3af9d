//! Pictures of a game's boards for slides.

use anyhow::Result;
use hobble_walkthrough::Walkthrough;
use hobble_walkthrough::moments::Shown;
use shakmaty::{Color, Position as _};

use crate::board::Picture;
use crate::board_file::{png, svg};
use crate::game_page::{bottom, marks};

/// A board as files.
#[derive(Debug)]
pub struct GameBoard {
    /// Name of the files, without their ending.
    pub name: String,
    /// The SVG file.
    pub svg: String,
    /// The PNG file.
    pub png: Vec<u8>,
}

/// The boards before and after each move that mattered.
///
/// # Errors
///
/// Where a board cannot be drawn.
pub fn boards_of_moments(walkthrough: &Walkthrough) -> Result<Vec<GameBoard>> {
    let mut boards = Vec::new();
    for (number, moment) in (1..).zip(&walkthrough.moments) {
        let bottom = bottom(walkthrough, moment);
        for (shown, when) in [(&moment.before, "before"), (&moment.after, "after")] {
            let title = format!("{when} {}", moment.label);
            boards.push(board(shown, format!("{number:02}-{when}"), &title, bottom)?);
        }
    }
    Ok(boards)
}

/// The boards of positions, by plies played, each with the move that led there; a position
/// beyond the game's end is left out.
///
/// # Errors
///
/// Where a board cannot be drawn.
pub fn boards_at(walkthrough: &Walkthrough, at: &[usize]) -> Result<Vec<GameBoard>> {
    let game = &walkthrough.game;
    let mut boards = Vec::new();
    for &at in at {
        let Some(position) = game.positions.get(at) else {
            continue;
        };
        let shown = Shown {
            chess: position.chess.clone(),
            ringed: Vec::new(),
            safe: None,
            taken: shakmaty::Bitboard::EMPTY,
            arrow: game.ply(at).map(|ply| (ply.facts.from, ply.facts.to)),
        };
        let title = match game.ply(at) {
            Some(ply) => format!("after {}", ply.label),
            None => "start".to_owned(),
        };
        boards.push(board(
            &shown,
            format!("position-{at:03}"),
            &title,
            Color::White,
        )?);
    }
    Ok(boards)
}

fn board(shown: &Shown, name: String, title: &str, bottom: Color) -> Result<GameBoard> {
    let marks = marks(shown);
    let picture = Picture {
        board: shown.chess.board(),
        marks: &marks,
        bottom,
        id: "board",
        title,
        by_symbols: false,
    };
    Ok(GameBoard {
        svg: svg(&picture),
        png: png(&picture)?,
        name,
    })
}
