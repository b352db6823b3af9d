//! How a page names a game: its players, where and when it was played, how it ended.

use hobble_questions::answer::GameReference;

use crate::text::plain;

/// A game in words, made harmless.
pub(crate) struct GameWords {
    /// Name of White, with the rating where there is one.
    pub white: String,
    /// The same of Black.
    pub black: String,
    /// Event, round and date.
    pub played: String,
    /// Result.
    pub result: String,
}

impl GameWords {
    pub(crate) fn of(game: &GameReference) -> GameWords {
        let said = |text: &Option<String>| text.as_deref().map(plain).filter(|t| !t.is_empty());
        let player = |name: &Option<String>, rating: Option<u16>| {
            let name = said(name).unwrap_or_else(|| "name not given".to_owned());
            rating.map_or_else(|| name.clone(), |rating| format!("{name} ({rating})"))
        };
        let played: Vec<String> = [
            said(&game.event),
            said(&game.round).map(|round| format!("round {round}")),
            said(&game.date),
        ]
        .into_iter()
        .flatten()
        .collect();
        GameWords {
            white: player(&game.white, game.white_rating),
            black: player(&game.black, game.black_rating),
            played: if played.is_empty() {
                "not given".to_owned()
            } else {
                played.join(", ")
            },
            result: plain(&game.result),
        }
    }
}
