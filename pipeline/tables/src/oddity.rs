//! Text that was passed over without loss of a game.

use hobble_archive::block::Place;
use hobble_game::game_text::GameText;

/// Text that was passed over; the game is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Oddity {
    /// Lines of a tag section that cannot be read.
    UnreadableTag {
        /// Line of the first of them, from 1.
        line: u64,
    },
    /// Words behind the result of a game.
    StrayText {
        /// Line of the first of them, from 1.
        line: u64,
    },
}

impl Oddity {
    /// What was passed over in a game; `text` is the game's.
    pub fn of<'a>(
        game: &GameText,
        place: &'a Place,
        text: &'a [u8],
    ) -> impl Iterator<Item = Oddity> + use<'a> {
        let line_of = |at: usize| {
            let before = &text[..at.min(text.len())];
            place.line + memchr::memchr_iter(b'\n', before).count() as u64
        };
        let tag = (game.unread_tags > 0).then_some(game.first_unread_tag);
        let tag = tag.map(|at| Oddity::UnreadableTag { line: line_of(at) });
        let stray = game
            .stray_text
            .map(|at| Oddity::StrayText { line: line_of(at) });
        tag.into_iter().chain(stray)
    }

    /// The line at which it begins, from 1.
    pub fn line(&self) -> u64 {
        match *self {
            Oddity::UnreadableTag { line } | Oddity::StrayText { line } => line,
        }
    }
}
