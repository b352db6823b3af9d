//! What pgn-reader reports of a game, gathered.

use std::ops::ControlFlow;

use hobble_terms::GameResult;
use pgn_reader::{RawComment, RawTag, Skip, Visitor};
use shakmaty::san::{San, SanPlus};
use shakmaty::{CastlingSide, Outcome, Role};

use crate::comment;
use crate::game_text::GameText;
use crate::tags::Tag;

/// A part of a game's text.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Part {
    /// The tags.
    #[default]
    Tags,
    /// The moves.
    Movetext,
}

/// Gathers a game, and what [`check`](crate::check) needs to know of the reading.
///
/// Variations are visited, not skipped: a blank line in one of them ends pgn-reader's game but
/// not ours, and what follows it must still count as part of the variation.
#[derive(Debug, Default)]
pub(crate) struct GameVisitor {
    pub(crate) game: GameText,
    /// Bytes of the moves as SAN.
    pub(crate) move_bytes: usize,
    /// Moves before the first result.
    pub(crate) moves_to_result: Option<usize>,
    /// Variations that are open.
    pub(crate) depth: usize,
    /// Which part of the text pgn-reader is given.
    pub(crate) part: Part,
    /// Whether pgn-reader has read tags and gone on to moves.
    pub(crate) tags_ended: bool,
    /// Whether a move was read in the tag section.
    pub(crate) move_among_tags: bool,
    /// The comment that is being put together.
    comment: Vec<u8>,
}

impl GameVisitor {
    /// Forgets the game.
    pub(crate) fn clear(&mut self) {
        self.game.clear();
        self.move_bytes = 0;
        self.moves_to_result = None;
        self.depth = 0;
        self.move_among_tags = false;
        self.comment.clear();
    }

    /// Begins a part of the text.
    pub(crate) fn begin(&mut self, part: Part) {
        self.part = part;
        self.depth = 0;
    }

    /// Whether a move, comment or result is one of the main line.
    fn in_main_line(&self) -> bool {
        self.depth == 0 && self.part == Part::Movetext
    }
}

impl Visitor for GameVisitor {
    type Tags = ();
    type Movetext = ();
    type Output = ();

    fn begin_tags(&mut self) -> ControlFlow<(), ()> {
        self.tags_ended = false;
        if self.part == Part::Tags {
            self.depth = 0;
        }
        ControlFlow::Continue(())
    }

    fn tag(&mut self, (): &mut (), name: &[u8], value: RawTag<'_>) -> ControlFlow<()> {
        if self.part != Part::Tags {
            return ControlFlow::Continue(());
        }
        self.game.tags.note();
        if let Some(tag) = Tag::of_name(name) {
            self.game.tags.set(tag, &value.decode());
        }
        ControlFlow::Continue(())
    }

    fn begin_movetext(&mut self, (): ()) -> ControlFlow<(), ()> {
        self.tags_ended = true;
        ControlFlow::Continue(())
    }

    fn san(&mut self, (): &mut (), san: SanPlus) -> ControlFlow<()> {
        if self.in_main_line() {
            self.game.moves.push(san.san);
            self.move_bytes += san_length(san);
        } else if self.depth == 0 {
            self.move_among_tags = true;
        }
        ControlFlow::Continue(())
    }

    fn partial_comment(&mut self, (): &mut (), comment: RawComment<'_>) -> ControlFlow<()> {
        if self.in_main_line() {
            self.comment.extend_from_slice(comment.as_bytes());
        }
        ControlFlow::Continue(())
    }

    fn comment(&mut self, (): &mut (), comment: RawComment<'_>) -> ControlFlow<()> {
        if !self.in_main_line() {
            return ControlFlow::Continue(());
        }
        if self.comment.is_empty() {
            self.game.note(comment::read(comment.as_bytes()));
        } else {
            self.comment.extend_from_slice(comment.as_bytes());
            self.game.note(comment::read(&self.comment));
            self.comment.clear();
        }
        ControlFlow::Continue(())
    }

    fn begin_variation(&mut self, (): &mut ()) -> ControlFlow<(), Skip> {
        self.depth += 1;
        ControlFlow::Continue(Skip(false))
    }

    fn end_variation(&mut self, (): &mut ()) -> ControlFlow<()> {
        // One that closes nothing is a word that is not a move.
        self.depth = self.depth.saturating_sub(1);
        ControlFlow::Continue(())
    }

    fn outcome(&mut self, (): &mut (), outcome: Outcome) -> ControlFlow<()> {
        if self.in_main_line() {
            self.game.end(GameResult::from(outcome));
            self.moves_to_result.get_or_insert(self.game.moves.len());
        }
        ControlFlow::Continue(())
    }

    fn end_game(&mut self, (): ()) {}
}

/// Bytes of a move as SAN: as in the text, which may have a `P` more for a pawn.
fn san_length(san: SanPlus) -> usize {
    let length = match san.san {
        San::Normal {
            role,
            file,
            rank,
            capture,
            promotion,
            ..
        } => {
            2 + usize::from(role != Role::Pawn)
                + usize::from(file.is_some())
                + usize::from(rank.is_some())
                + usize::from(capture)
                + 2 * usize::from(promotion.is_some())
        }
        San::Castle(CastlingSide::KingSide) => 3,
        San::Castle(CastlingSide::QueenSide) => 5,
        San::Put { role, .. } => 3 + usize::from(role != Role::Pawn),
        San::Null => 2,
    };
    length + usize::from(san.suffix.is_some())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn length_of_a_move_is_that_of_its_text() {
        for text in [
            "e4", "exd5", "e8=Q+", "exd8=N#", "Nf3", "Nbxd2", "Nb1d2", "R1xe2", "O-O", "O-O-O+",
            "--", "N@f3", "@e4", "e2e4", "e2xd3",
        ] {
            let san = SanPlus::from_ascii(text.as_bytes()).unwrap();
            assert_eq!(san_length(san), text.len(), "{text}");
        }
    }
}
