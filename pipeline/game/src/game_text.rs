//! What a game's text says.

use hobble_terms::GameResult;
use shakmaty::san::San;

use crate::comment::{Eval, Note};
use crate::notation::Standard;
use crate::tags::{Tag, Tags};

/// What a game's text says.
#[derive(Debug, Default)]
pub struct GameText {
    /// Its tags.
    pub tags: Tags,
    /// Its moves.
    pub moves: Vec<San>,
    /// Seconds left after each ply, where a comment says so.
    pub clocks: Vec<Option<f32>>,
    /// Evaluation after each ply, where a comment says so.
    pub evals: Vec<Option<Eval>>,
    /// Lines in the tag section that could not be read and were passed over.
    pub unread_tags: u16,
    /// Where the first of them begins.
    pub first_unread_tag: usize,
    /// Where words begin that stand behind the result and are not moves.
    pub stray_text: Option<usize>,
    outcome: Option<GameResult>,
    standard: Option<Box<Standard>>,
}

impl GameText {
    /// Result by the end of the moves, or else the Result tag.
    pub fn result(&self) -> GameResult {
        self.outcome
            .unwrap_or_else(|| GameResult::from_tag(self.tags.raw(Tag::Result)))
    }

    /// The text with its moves written the standard way, where they were not.
    pub(crate) fn standard(&self) -> Option<&Standard> {
        self.standard.as_deref()
    }

    /// Notes that the moves were read from another text than the game's own.
    pub(crate) fn read_from(&mut self, standard: Standard) {
        self.stray_text = self.stray_text.map(|at| standard.original(at));
        self.standard = Some(Box::new(standard));
    }

    pub(crate) fn clear(&mut self) {
        self.tags.clear();
        self.moves.clear();
        self.clocks.clear();
        self.evals.clear();
        self.unread_tags = 0;
        self.first_unread_tag = 0;
        self.stray_text = None;
        self.outcome = None;
        self.standard = None;
    }

    /// Keeps what a comment says of the last ply; the first clock and the first evaluation
    /// that can be read count.
    pub(crate) fn note(&mut self, note: Note) {
        let Some(last) = self.moves.len().checked_sub(1) else {
            return;
        };
        if note.clock.is_some() {
            self.clocks.resize(last + 1, None);
            self.clocks[last] = self.clocks[last].or(note.clock);
        }
        if note.eval.is_some() {
            self.evals.resize(last + 1, None);
            self.evals[last] = self.evals[last].or(note.eval);
        }
    }

    /// Keeps a result; the first counts.
    pub(crate) fn end(&mut self, result: GameResult) {
        self.outcome.get_or_insert(result);
    }
}
