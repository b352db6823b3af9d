//! Boards of positions, drawn.

use hobble_pages::board::{Marks, Picture};
use hobble_report::plain_short;
use serde::{Deserialize, Serialize};
use shakmaty::fen::Fen;
use shakmaty::{Color, Square};

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
        let setup = Fen::from_ascii(self.fen.as_bytes()).ok()?;
        let square = |name: &String| Square::from_ascii(name.as_bytes()).ok();
        let squares = |names: &[String]| names.iter().map(square).collect::<Option<Vec<_>>>();
        let (held, safe, taken) = (
            square(&self.square)?,
            squares(&self.safe)?,
            squares(&self.taken)?,
        );
        let arrow = match &self.arrow {
            None => None,
            Some((from, to)) => Some((square(from)?, square(to)?)),
        };
        let marks = match marked {
            true => Marks {
                held: vec![held],
                safe: Some(safe),
                taken,
                arrow,
            },
            false => Marks::default(),
        };
        let title = format!("Board: {}", self.piece());
        let picture = Picture {
            board: &setup.as_setup().board,
            marks: &marks,
            bottom: Color::from_white(self.white_below),
            id,
            title: if marked { &title } else { "Board" },
            by_symbols: false,
        };
        Some(Drawn {
            picture: picture.draw(),
            words: picture.words(),
        })
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
