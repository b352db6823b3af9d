//! The facts of a game for readers.

use hobble_report::sections::file_name;
use hobble_report::{Fact, number, plain_short};

use crate::reference::GameReference;

/// Players, event, result and place of a game.
pub fn game_facts(game: &GameReference) -> Vec<Fact> {
    let said = |text: &Option<String>| {
        let text = text.as_deref().map(plain_short);
        text.filter(|text| !text.is_empty())
    };
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
    let played = if played.is_empty() {
        "not given".to_owned()
    } else {
        played.join(", ")
    };
    vec![
        Fact::new("White", player(&game.white, game.white_rating)),
        Fact::new("Black", player(&game.black, game.black_rating)),
        Fact::new("Game", played),
        Fact::new("Result", plain_short(&game.result)),
        Fact::new("Found in", place(game)),
        Fact::new("Game id", plain_short(&game.game_id)),
    ]
}

/// Where a game is found.
pub fn place(game: &GameReference) -> String {
    format!(
        "{}, game {}, line {}",
        plain_short(file_name(&game.file)),
        number::count(u64::from(game.number)),
        number::count(game.line)
    )
}
