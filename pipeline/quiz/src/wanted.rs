//! Which positions are wanted.

use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::fields::{Field, Said};
use hobble_conditions::filter::Condition;
use hobble_conditions::terms::Place;
use hobble_conditions::{Opening, filter_keys as keys};
use hobble_examples::seats::Asked;
use hobble_terms::{Kind, Phase, TimeClass};
use serde::Serialize;

use crate::difficulty::Level;

/// Which positions are wanted. What is empty or `None` asks nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Wanted {
    /// How many, at most.
    pub count: usize,
    /// How many of the first are passed over.
    pub skip: usize,
    /// Kinds of the piece to be restrained.
    pub kinds: Vec<Kind>,
    /// Phases of the game.
    pub phase: Vec<Phase>,
    /// Where the piece stands, as its owner sees the board.
    pub stands: Vec<Place>,
    /// Time classes of the game.
    pub time_class: Vec<TimeClass>,
    /// Whether White is on move, or Black.
    pub white_to_move: Option<bool>,
    /// Difficulties.
    pub level: Vec<Level>,
    /// Openings of which the game must have one.
    pub opening: Vec<Opening>,
    /// Ratings from the first to the second that the player on move must have.
    pub rating: Option<(u16, u16)>,
    /// Part of the name of the player on move, in either case.
    pub player: Option<String>,
}

impl Wanted {
    /// What is asked of rows of `decisions`.
    pub fn conditions(&self) -> Vec<Condition<'_>> {
        let rows = AskedRows::Chances;
        let mut all = vec![
            keys::Phases::condition(&self.phase, rows),
            keys::Stands::condition(&self.stands, rows),
            keys::TimeClasses::condition(&self.time_class, rows),
        ];
        if !self.kinds.is_empty() {
            all.push(keys::Kinds::condition(&self.kinds, rows));
        }
        if let Some(white) = self.white_to_move {
            all.push(Condition::OneOf("color", vec![color(white)]));
        }
        all.retain(|condition| *condition != Condition::Always);
        all
    }

    /// What is asked of games.
    pub fn of_games(&self) -> Asked<'_> {
        Asked {
            opening: &self.opening,
            rating: self.rating,
            player: self.player.as_deref(),
        }
    }

    /// What is asked, in words for a reader.
    pub fn said(&self) -> Vec<Said> {
        let said = |name, words| Said { name, words };
        let mut all = Vec::new();
        if !self.kinds.is_empty() {
            all.push(said("Piece", either(&self.kinds)));
        }
        all.extend(keys::Phases::said(&self.phase));
        all.extend(keys::Stands::said(&self.stands));
        all.extend(keys::TimeClasses::said(&self.time_class));
        if let Some(white) = self.white_to_move {
            all.push(said("To move", color(white).to_owned()));
        }
        if !self.level.is_empty() {
            all.push(said("Difficulty", either(&self.level)));
        }
        if !self.opening.is_empty() {
            let codes: Vec<String> = self
                .opening
                .iter()
                .map(|opening| format!("{} to {}", opening.from, opening.to))
                .collect();
            all.push(said("Opening code", either(&codes)));
        }
        if let Some((low, high)) = self.rating {
            let words = format!("{low} to {high}");
            all.push(said("Rating of the player on move", words));
        }
        if let Some(player) = &self.player {
            let words = format!("name contains {}", hobble_report::plain_short(player));
            all.push(said("Player on move", words));
        }
        all
    }
}

fn color(white: bool) -> &'static str {
    if white { "white" } else { "black" }
}

fn either<T: ToString>(values: &[T]) -> String {
    let words: Vec<String> = values.iter().map(T::to_string).collect();
    words.join(" or ")
}
