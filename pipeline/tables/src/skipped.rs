//! The table `skipped`.

use arrow_array::types::{UInt32Type, UInt64Type};
use hobble_archive::block::Place;
use hobble_game::skip::Skip;
use hobble_terms::Reason;

use crate::column::{Codes, Longs, Texts};
use crate::encode::Columns;

/// A game left out, for the table and for messages.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SkippedGame {
    /// Number in the source.
    pub number: u64,
    /// Byte of its text.
    pub offset: u64,
    /// Line of its text.
    pub line: u64,
    /// Line of the offending place.
    pub at_line: u64,
    /// Why.
    pub skip: Skip,
}

impl SkippedGame {
    /// A skip at its place in the archive; `text` is the game's.
    pub fn new(place: &Place, text: &[u8], skip: Skip) -> SkippedGame {
        let before = &text[..skip.at.min(text.len())];
        SkippedGame {
            number: place.number,
            offset: place.offset,
            line: place.line,
            at_line: place.line + memchr::memchr_iter(b'\n', before).count() as u64,
            skip,
        }
    }

    /// One clear line: what, where, and what was done.
    pub fn message(&self, file: &str) -> String {
        let words = if self.skip.words.is_empty() {
            String::new()
        } else {
            format!(" `{}`", self.skip.words)
        };
        format!(
            "{file}: game {}, line {}: {}{words}; game skipped",
            self.number, self.at_line, self.skip.reason
        )
    }
}

/// Growing rows of `skipped`.
pub struct SkippedColumns {
    game: Longs<UInt32Type>,
    file: Texts,
    offset: Longs<UInt64Type>,
    line: Longs<UInt64Type>,
    at_line: Longs<UInt64Type>,
    reason: Codes,
    words: Texts,
}

impl Default for SkippedColumns {
    fn default() -> Self {
        SkippedColumns {
            game: Longs::default(),
            file: Texts::default(),
            offset: Longs::default(),
            line: Longs::default(),
            at_line: Longs::default(),
            reason: Codes::of(Reason::ALL.map(Reason::name)),
            words: Texts::default(),
        }
    }
}

impl SkippedColumns {
    /// Adds a game.
    pub fn push(&mut self, file: &str, game: &SkippedGame) {
        self.game.push(game.number as u32);
        self.file.push(file);
        self.offset.push(game.offset);
        self.line.push(game.line);
        self.at_line.push(game.at_line);
        self.reason.push(game.skip.reason as u8);
        self.words.push(&game.skip.words);
    }

    /// The columns, in the order of the schema.
    pub fn columns(&mut self) -> Columns<'_> {
        let mut columns = Columns::new(self.game.len());
        columns.add("game", &mut self.game);
        columns.add("file", &mut self.file);
        columns.add("offset", &mut self.offset);
        columns.add("line", &mut self.line);
        columns.add("at_line", &mut self.at_line);
        columns.add("reason", &mut self.reason);
        columns.add("words", &mut self.words);
        columns
    }
}
