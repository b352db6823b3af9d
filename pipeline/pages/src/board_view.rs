//! A board of a report, drawn, with its words.

use anyhow::{Context as _, Result};
use hobble_report::{Board as Shown, Side, plain, plain_short};
use serde::Serialize;
use shakmaty::fen::Fen;
use shakmaty::{Board, Color, Square};

use crate::board::{self, Marks, Picture};

/// A board, its words and its FEN.
#[derive(Serialize)]
pub(crate) struct BoardView {
    pub label: String,
    pub picture: String,
    pub words: String,
    pub fen: String,
    pub bottom: &'static str,
}

/// A board of a report as an SVG element that needs nothing else on its page, and in words.
///
/// # Errors
///
/// Where its position or a square cannot be read, naming it.
pub fn drawn_board(shown: &Shown) -> Result<(String, String)> {
    let view = BoardView::new(shown)?;
    Ok((view.picture, view.words))
}

impl BoardView {
    /// A board that needs nothing else on its page.
    ///
    /// # Errors
    ///
    /// Where its position or a square cannot be read, naming it.
    pub(crate) fn new(shown: &Shown) -> Result<BoardView> {
        BoardView::drawn(shown, false)
    }

    /// A board on a page that has the symbols: [`board::symbols`].
    ///
    /// # Errors
    ///
    /// As of [`BoardView::new`].
    pub(crate) fn by_symbols(shown: &Shown) -> Result<BoardView> {
        BoardView::drawn(shown, true)
    }

    fn drawn(shown: &Shown, by_symbols: bool) -> Result<BoardView> {
        let pieces = position(&shown.fen)?;
        let marks = Marks {
            held: match shown.held.as_str() {
                "" => Vec::new(),
                held => vec![square(held)?],
            },
            taken: squares(&shown.taken)?,
            safe: shown.safe.as_deref().map(squares).transpose()?,
            arrow: shown
                .arrow
                .as_ref()
                .map(|(from, to)| anyhow::Ok((square(from)?, square(to)?)))
                .transpose()?,
        };
        let bottom = match shown.bottom {
            Side::White => Color::White,
            Side::Black => Color::Black,
        };
        let title = plain(&shown.title);
        let picture = Picture {
            board: &pieces,
            marks: &marks,
            bottom,
            id: &shown.id,
            title: &title,
            by_symbols,
        };
        Ok(BoardView {
            label: hobble_report::number::capital(shown.label),
            picture: picture.draw(),
            words: picture.words(),
            fen: plain_short(&shown.fen),
            bottom: board::side_name(bottom),
        })
    }
}

fn position(fen: &str) -> Result<Board> {
    let read =
        Fen::from_ascii(fen.as_bytes()).with_context(|| format!("invalid position {fen:?}"))?;
    Ok(read.as_setup().board.clone())
}

fn square(name: &str) -> Result<Square> {
    Square::from_ascii(name.as_bytes()).with_context(|| format!("invalid square {name:?}"))
}

fn squares(names: &[String]) -> Result<Vec<Square>> {
    names.iter().map(|name| square(name)).collect()
}
