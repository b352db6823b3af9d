//! Games to look at: their boards, and what a reader chooses them by.

use serde::Serialize;

use crate::fact::Fact;
use crate::stretch::Stretch;

/// Games to look at.
#[derive(Debug, Clone, PartialEq)]
pub struct Games {
    /// The games.
    pub games: Vec<Game>,
    /// What an arrow on their boards is.
    pub arrow: Arrow,
    /// Whether a reader is to choose among them, by their traits.
    pub to_choose: bool,
}

/// What an arrow on a board is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrow {
    /// The move that took squares.
    Cause,
    /// The move after which the piece was held.
    Came,
    /// A reply that would have freed the piece.
    Reply,
    /// A move that would have taken squares from the piece.
    Chance,
    /// A move to look at: a reply that would have freed the piece, or one that would have taken squares
    /// from it.
    Better,
    /// The last move; what is dotted are the squares of a whole side.
    LastMove,
}

/// A game.
#[derive(Debug, Clone, PartialEq)]
pub struct Game {
    /// What is to be seen, in a few words.
    pub heading: String,
    /// The game in one line.
    pub label: String,
    /// What happens, in sentences.
    pub caption: String,
    /// Players, event, where it is found.
    pub facts: Vec<Fact>,
    /// Its boards: none where the moves were not written.
    pub boards: Vec<Board>,
    /// The moves around what they show, to step through, where there are any to follow.
    pub stretch: Option<Stretch>,
    /// What a reader chooses by; none where there is nothing to choose.
    pub traits: Vec<Trait>,
}

/// What a reader may choose games by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Trait {
    /// Its name, as a label shows it.
    pub name: &'static str,
    /// What it is in a game: words to choose from, or a number to sort by.
    pub value: TraitValue,
}

/// What a trait is in a game.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(untagged)]
pub enum TraitValue {
    /// One of a few words.
    Word(String),
    /// A number.
    Number(u32),
}

impl Game {
    /// The lines of its boards, one after another.
    pub fn board_lines(&self) -> impl Iterator<Item = String> {
        self.boards.iter().flat_map(Board::lines)
    }
}

/// A side of the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// White.
    White,
    /// Black.
    Black,
}

impl Side {
    /// The side of this name: `white` or `black`.
    pub fn named(name: &str) -> Option<Side> {
        match name {
            "white" => Some(Side::White),
            "black" => Some(Side::Black),
            _ => None,
        }
    }

    /// Its name: `white` or `black`.
    pub const fn name(self) -> &'static str {
        match self {
            Side::White => "white",
            Side::Black => "black",
        }
    }

    /// The other side.
    pub const fn other(self) -> Side {
        match self {
            Side::White => Side::Black,
            Side::Black => Side::White,
        }
    }
}

/// A position with its marks. Squares are named as `e4`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Board {
    /// Its name within the page, of letters, digits and hyphens.
    pub id: String,
    /// When it is, as `before`.
    pub label: &'static str,
    /// What it shows.
    pub title: String,
    /// The position as FEN.
    pub fen: String,
    /// The position before the move that the arrow shows, as FEN, where it has no board.
    pub fen_before: Option<String>,
    /// The side at the bottom.
    pub bottom: Side,
    /// Square of the held piece; empty where the board is about a whole side.
    pub held: String,
    /// Its safe squares, or its side's; none where they are not shown.
    pub safe: Option<Vec<String>>,
    /// Squares taken from it.
    pub taken: Vec<String>,
    /// A move: from, to.
    pub arrow: Option<(String, String)>,
}

impl Board {
    /// Positions and squares taken in words, a line each, for renderings without boards.
    pub fn lines(&self) -> Vec<String> {
        let before = self.fen_before.iter().map(|fen| format!("before: {fen}"));
        let label = if self.label.is_empty() {
            String::new()
        } else {
            format!("{}: ", self.label)
        };
        let mut lines: Vec<String> = before.collect();
        lines.push(format!("{label}{}", self.fen));
        if !self.taken.is_empty() {
            let taken = self.taken.join(" ");
            lines.push(format!("squares taken ({}): {taken}", self.taken.len()));
        }
        lines
    }
}
