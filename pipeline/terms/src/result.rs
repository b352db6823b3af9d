//! Results of games.

use shakmaty::{KnownOutcome, Outcome};

use crate::words;

words! {
    /// Result of a game, as PGN spells it.
    GameResult {
        /// White won.
        White = "1-0",
        /// Black won.
        Black = "0-1",
        /// Drawn.
        Draw = "1/2-1/2",
        /// Not known, or not finished.
        Unknown = "*",
    }
}

impl GameResult {
    /// The value of a Result tag; anything unusual is unknown.
    pub fn from_tag(value: &[u8]) -> GameResult {
        std::str::from_utf8(value.trim_ascii())
            .ok()
            .and_then(GameResult::from_name)
            .unwrap_or(GameResult::Unknown)
    }
}

impl From<Outcome> for GameResult {
    fn from(outcome: Outcome) -> GameResult {
        match outcome {
            Outcome::Known(KnownOutcome::Decisive { winner }) => {
                winner.fold_wb(GameResult::White, GameResult::Black)
            }
            Outcome::Known(KnownOutcome::Draw) => GameResult::Draw,
            Outcome::Unknown => GameResult::Unknown,
        }
    }
}
