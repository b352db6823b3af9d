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
    /// The value of a Result tag, also with typographic dashes and halves; anything unusual is
    /// unknown.
    pub fn from_tag(value: &[u8]) -> GameResult {
        let Ok(text) = std::str::from_utf8(value.trim_ascii()) else {
            return GameResult::Unknown;
        };
        if text.is_ascii() {
            return GameResult::from_name(text).unwrap_or(GameResult::Unknown);
        }
        let is_dash = |c: char| matches!(c, '\u{2010}'..='\u{2015}' | '\u{2212}');
        let plain = text.replace(is_dash, "-").replace('½', "1/2");
        GameResult::from_name(&plain).unwrap_or(GameResult::Unknown)
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
