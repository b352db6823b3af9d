//! Boards of positions, drawn.

use hobble_pages::drawn_board;
use hobble_report::{Board, Side, plain_short};
use serde::{Deserialize, Serialize};

/// A position with a restricted piece, as it is shown and kept on the handout.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shown {
    /// The position as FEN.
    pub fen: String,
    /// Whether White is at the bottom.
    pub white_below: bool,
    /// Kind of the piece.
    pub kind: String,
    /// Whether it is White's.
    pub white: bool,
    /// Its square.
    pub square: String,
    /// Its safe squares.
    pub safe: Vec<String>,
    /// Those that the move before took from it.
    pub taken: Vec<String>,
    /// The move before: from, to.
    pub arrow: Option<(String, String)>,
    /// What it shows, in a sentence or two.
    pub caption: String,
    /// The game.
    pub game: String,
    /// The query that names the game in the tables.
    pub query: String,
}

/// A board and what it shows in words.
#[derive(Debug, Serialize)]
pub struct Drawn {
    /// SVG.
    pub picture: String,
    /// The same in words.
    pub words: String,
}

impl Shown {
    /// Draws it, with its marks or without. `None` where the position or a square cannot be read.
    pub fn draw(&self, id: &str, marked: bool) -> Option<Drawn> {
        let board = Board {
            id: id.to_owned(),
            label: "",
            title: "Board".to_owned(),
            fen: self.fen.clone(),
            fen_before: None,
            bottom: if self.white_below {
                Side::White
            } else {
                Side::Black
            },
            held: String::new(),
            safe: None,
            taken: Vec::new(),
            arrow: None,
        };
        let board = match marked {
            true => Board {
                title: format!("Board: {}", self.piece()),
                held: self.square.clone(),
                safe: Some(self.safe.clone()),
                taken: self.taken.clone(),
                arrow: self.arrow.clone(),
                ..board
            },
            false => board,
        };
        let (picture, words) = drawn_board(&board).ok()?;
        Some(Drawn { picture, words })
    }

    /// The piece and where it stands.
    pub fn piece(&self) -> String {
        let owner = if self.white { "White" } else { "Black" };
        format!(
            "{owner} {} on {}",
            plain_short(&self.kind),
            plain_short(&self.square)
        )
    }
}
