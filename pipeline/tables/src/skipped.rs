//! The table `skipped`.

use hobble_archive::block::Place;
use hobble_game::skip::Skip;
use hobble_terms::Reason;

use crate::column::Text;
use crate::declare::{Rising, table};

table! {
    /// One row a game that was read and left out, with the reason.
    Skipped, schema 2, row "source, game";
    columns SkippedColumns;
    handles SkippedHandles, SKIPPED;

    /// Number of the game in its source, from 1; skipped games are counted too.
    game: Rising<i32>;
    /// Archive file the game was read from, as named to the scan; `-` is standard input.
    file: Text;
    /// Where the game's text starts in the decompressed file.
    byte_offset: Rising<i64>, unit "bytes";
    /// Line of the decompressed file at which the game's text starts, from 1.
    line: Rising<i64>, unit "line";
    /// Line of the offending place; the game's first line where it is the game as a whole.
    at_line: Rising<i64>, unit "line";
    /// Why the game was left out.
    reason: Reason;
    /// The offending words, shortened, control characters replaced; empty for none. Of a repeat
    /// the game that it repeats, as `game 17 of season.pgn` (number and source).
    words: Text;
}

/// A skipped game, for the table and for messages.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SkippedGame {
    /// Place of its file in the block.
    pub file: u32,
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
            file: place.file,
            number: place.number,
            offset: place.offset,
            line: place.line,
            at_line: place.line + memchr::memchr_iter(b'\n', before).count() as u64,
            skip,
        }
    }
}

impl SkippedColumns {
    /// Adds a game; its offending words are left out where they may name a player and names are
    /// `hidden`.
    pub fn push(&mut self, file: &str, game: &SkippedGame, hidden: bool) {
        let words = match game.skip.reason {
            Reason::Repeat => &game.skip.words,
            _ if hidden => "",
            _ => &game.skip.words,
        };
        self.game.push(game.number as i32);
        self.file.push(file);
        self.byte_offset.push(game.offset as i64);
        self.line.push(game.line as i64);
        self.at_line.push(game.at_line as i64);
        self.reason.push(game.skip.reason);
        self.words.push(words);
    }
}
