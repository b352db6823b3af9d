//! Who played, when, where, and how it ended.

use hobble_game::game_text::GameText;
use hobble_game::id::Ids;
use hobble_game::start::Start;
use hobble_game::tags::Tag;
use hobble_game::text::decode;
use hobble_terms::{GameResult, Variant};

/// Who played, when, where, and how it ended.
#[derive(Clone, Debug)]
pub struct Heading {
    /// Player of the white pieces; `None` where missing.
    pub white: Option<String>,
    /// Player of the black pieces; `None` where missing.
    pub black: Option<String>,
    /// Event.
    pub event: Option<String>,
    /// Site.
    pub site: Option<String>,
    /// Date as PGN writes it.
    pub date: Option<String>,
    /// Round.
    pub round: Option<String>,
    /// Rating of White in points.
    pub white_rating: Option<u16>,
    /// Rating of Black in points.
    pub black_rating: Option<u16>,
    /// ECO code as the tag says it.
    pub eco: Option<String>,
    /// Time control as the tag says it.
    pub time_control: Option<String>,
    /// Result.
    pub result: GameResult,
    /// The rules.
    pub variant: Variant,
    /// The FEN tag where the game does not start from the usual position.
    pub start_fen: Option<String>,
    /// Game id (definitions, section 9).
    pub id: u64,
}

impl Heading {
    /// The heading of a game that was read.
    pub fn new(game: &GameText, start: &Start, ids: Ids) -> Heading {
        let known = |tag| {
            let text = decode(game.tags.known(tag)?).0.trim().to_owned();
            (!text.is_empty()).then_some(text)
        };
        let points = |tag| game.tags.rating(tag).points();
        Heading {
            white: known(Tag::White),
            black: known(Tag::Black),
            event: known(Tag::Event),
            site: known(Tag::Site),
            date: known(Tag::Date).filter(|date| date != "????.??.??"),
            round: known(Tag::Round).filter(|round| round != "-"),
            white_rating: points(Tag::WhiteElo),
            black_rating: points(Tag::BlackElo),
            eco: known(Tag::Eco),
            time_control: known(Tag::TimeControl).filter(|control| control != "-"),
            result: game.result(),
            variant: start.variant,
            start_fen: (!start.usual)
                .then(|| decode(game.tags.raw(Tag::Fen).trim_ascii()).0.into_owned()),
            id: ids.game,
        }
    }

    /// What the players are called: their names, or their sides.
    pub fn players(&self) -> [&str; 2] {
        [
            self.white.as_deref().unwrap_or("White"),
            self.black.as_deref().unwrap_or("Black"),
        ]
    }

    /// The players: `Windlass, Orla – Cobble, Nan`.
    pub fn name(&self) -> String {
        let [white, black] = self.players();
        format!("{white} \u{2013} {black}")
    }

    /// The players, with event and date where they are known.
    pub fn long_name(&self) -> String {
        let mut name = self.name();
        for more in [&self.event, &self.date].into_iter().flatten() {
            name.push_str(", ");
            name.push_str(more);
        }
        name
    }
}
