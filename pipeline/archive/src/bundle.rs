//! Small archives read as one: their games share blocks.
//!
//! A block of its own for each file would make tables of ten thousand files many times as large as
//! those of one file with the same text. A file that cannot be read whole, that changes while it
//! is read or that unpacks to more than [`MOST_TEXT`] is set apart, before any of its games is
//! handed out: it is better read by itself.

use std::collections::VecDeque;

use crate::block::{Block, Blocks, Sizes};
use crate::listing::Input;
use crate::stream::{Progress, Stream};

/// Most unpacked bytes of a file in a bundle.
pub const MOST_TEXT: usize = 16 << 20;

/// What comes next of a bundle.
#[derive(Clone, Debug)]
pub enum Piece {
    /// A block of games.
    Block(Block),
    /// A file was read to its end; its games are in the blocks that follow.
    Read {
        /// Its place in the bundle.
        file: usize,
        /// What was read.
        about: Whole,
    },
    /// A file was set apart.
    Apart {
        /// Its place in the bundle.
        file: usize,
    },
}

/// A file that was read whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Whole {
    /// Bytes of the file as it is stored.
    pub bytes: u64,
    /// SHA-256 of these bytes, in hexadecimal.
    pub sha256: String,
    /// Time of the last write, in nanoseconds since 1970.
    pub modified: Option<u64>,
    /// Its games.
    pub games: u64,
}

/// Files read one after another.
pub struct Bundle<'a> {
    files: VecDeque<(usize, &'a Input)>,
    sizes: Sizes,
    pieces: VecDeque<Piece>,
    /// The block being filled.
    block: Block,
    games: u64,
    blocks: u64,
    offset: u64,
    on_open: Box<dyn FnMut(Progress) + Send + 'a>,
}

impl<'a> Bundle<'a> {
    /// A bundle of files, each with its place; `on_open` is called for each file that is read.
    pub fn new(
        files: impl IntoIterator<Item = (usize, &'a Input)>,
        sizes: Sizes,
        on_open: impl FnMut(Progress) + Send + 'a,
    ) -> Bundle<'a> {
        Bundle {
            files: files.into_iter().collect(),
            sizes,
            pieces: VecDeque::new(),
            block: Block::default(),
            games: 0,
            blocks: 0,
            offset: 0,
            on_open: Box::new(on_open),
        }
    }

    fn add(&mut self, file: usize, input: &Input) {
        let Some((about, blocks)) = self.read(input) else {
            self.pieces.push_back(Piece::Apart { file });
            return;
        };
        let name = self.block.files.len() as u32;
        self.block.files.push(input.name());
        for block in blocks {
            let start = self.block.text.len();
            self.block.text.extend_from_slice(&block.text);
            for mut place in block.games {
                place.span.start += start;
                place.span.end += start;
                place.number += self.games;
                place.file = name;
                self.block.games.push(place);
            }
        }
        self.games += about.games;
        self.pieces.push_back(Piece::Read { file, about });
    }

    /// The text of a file; `None` where it is to be set apart.
    fn read(&mut self, input: &Input) -> Option<(Whole, Vec<Block>)> {
        let facts = |input: &Input| (input.size(), input.modified());
        let before = facts(input);
        let stream = Stream::open(input).ok()?;
        let progress = stream.progress();
        (self.on_open)(progress.clone());
        let mut blocks = Blocks::new(stream, self.sizes);
        let (mut read, mut games) = (Vec::new(), 0);
        while let Some(block) = blocks.next_block().ok()? {
            if blocks.offset() > MOST_TEXT as u64 {
                return None;
            }
            games += block.games.len() as u64;
            read.push(block);
        }
        let stream = blocks.reader();
        let bytes = progress.bytes();
        let whole = stream.trailing_bytes() == 0 && before.0 == Some(bytes);
        (whole && facts(input) == before).then(|| {
            let about = Whole {
                bytes,
                sha256: stream.sha256(),
                modified: before.1,
                games,
            };
            (about, read)
        })
    }

    fn take(&mut self) -> Block {
        let mut block = std::mem::take(&mut self.block);
        self.offset += block.text.len() as u64;
        block.end_offset = self.offset;
        block.number = self.blocks;
        self.blocks += 1;
        block
    }
}

impl Iterator for Bundle<'_> {
    type Item = Piece;

    fn next(&mut self) -> Option<Piece> {
        loop {
            if let Some(piece) = self.pieces.pop_front() {
                return Some(piece);
            }
            if self.block.text.len() >= self.sizes.block {
                return Some(Piece::Block(self.take()));
            }
            match self.files.pop_front() {
                Some((file, input)) => self.add(file, input),
                None if self.block.text.is_empty() => return None,
                None => return Some(Piece::Block(self.take())),
            }
        }
    }
}
