//! What the screens look up in the tables: games, players, a game's text.

pub mod game_list;
pub mod game_text;
pub mod player_list;
