//! A game with all that is found in it.

use crate::beside::Beside;
use crate::chances::{Chance, chances};
use crate::exercises::{Exercise, exercises};
use crate::find::At;
use crate::follow::Followed;
use crate::lines::{Line, lines};
use crate::moments::{Moment, moments};
use crate::themes::{Show, show};
use crate::tries::{Tried, tries};

/// A game with all that is found in it.
#[derive(Clone, Debug)]
pub struct Walkthrough {
    /// Where the game stands; `None` where that is not known.
    pub at: Option<At>,
    /// The game.
    pub game: Followed,
    /// Most safe squares of a held piece.
    pub k: u8,
    /// The moves tried at each position.
    pub tries: Vec<Vec<Tried>>,
    /// A line for each knight, bishop, rook and queen.
    pub lines: Vec<Line>,
    /// Turns at which a piece could be restrained.
    pub chances: Vec<Chance>,
    /// The moves that mattered, in order.
    pub moments: Vec<Moment>,
    /// Positions to solve, the best first.
    pub exercises: Vec<Exercise>,
    /// How much restraint the game shows.
    pub show: Show,
    /// What became of such pieces in an archive; empty where none is asked.
    pub beside: Vec<Beside>,
}

impl Walkthrough {
    /// All that is found in a game at k, from 0 to [`hobble_terms::MAX_K`].
    pub fn new(game: Followed, k: u8) -> Walkthrough {
        let tries: Vec<Vec<Tried>> = game.positions.iter().map(tries).collect();
        let chances = chances(&game, &tries, k);
        Walkthrough {
            at: None,
            lines: lines(&game, k),
            moments: moments(&game, &tries, &chances, k),
            exercises: exercises(&game, &tries, &chances),
            show: show(&game, k),
            beside: Vec::new(),
            k,
            tries,
            chances,
            game,
        }
    }
}
