//! Blocks of whole games for the workers.

use std::io::{self, Read};

use crate::split::{Span, Splitter, blank_start};

/// Where a game stands in its archive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Its text in the block.
    pub span: Span,
    /// Place of its file in [`Block::files`].
    pub file: u32,
    /// Its number in the source, from 1.
    pub number: u64,
    /// Byte of the unpacked text at which it starts.
    pub offset: u64,
    /// Line of the unpacked text at which it starts, from 1.
    pub line: u64,
    /// Why part of its text is missing; `None` where all of it is there.
    pub cut: Option<Cut>,
}

/// Why part of a game's text is missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// It was longer than [`Sizes::game`].
    TooLong,
    /// Reading failed in the middle of it.
    EndOfRead,
}

/// A run of whole games.
#[derive(Clone, Debug, Default)]
pub struct Block {
    /// Number of the block in its source, from 0.
    pub number: u64,
    /// Unpacked bytes of the source before its end.
    pub end_offset: u64,
    /// Names of the files its games are from; empty where all blocks are of one file.
    pub files: Vec<String>,
    /// The text.
    pub text: Vec<u8>,
    /// The games in it.
    pub games: Vec<Place>,
}

impl Block {
    /// Name of the file that a game of the block is from; `only` is the name where all blocks are
    /// of one file.
    pub fn file_of<'a>(&'a self, place: &Place, only: &'a str) -> &'a str {
        let file = self.files.get(place.file as usize);
        file.map_or(only, String::as_str)
    }
}

/// Sizes that decide how a text is cut.
#[derive(Clone, Copy, Debug)]
pub struct Sizes {
    /// A block ends with the first game that fills it to this many bytes.
    pub block: usize,
    /// A game with more text than this is cut off.
    pub game: usize,
}

impl Default for Sizes {
    fn default() -> Self {
        Sizes {
            block: 2 << 20,
            game: 16 << 20,
        }
    }
}

/// Cuts a stream into blocks, always at the same places.
pub struct Blocks<R> {
    reader: R,
    sizes: Sizes,
    splitter: Splitter,
    buffer: Vec<u8>,
    /// Starts of the games in the buffer after the first.
    borders: Vec<usize>,
    offset: u64,
    line: u64,
    games: u64,
    blocks: u64,
    complete: bool,
    failed: Option<io::Error>,
    /// Bytes and lines dropped from the first game in the buffer.
    dropped: (u64, u64),
    /// Whether they held more than white space.
    dropped_words: bool,
}

impl<R: Read> Blocks<R> {
    /// Blocks of a stream read from its start.
    pub fn new(reader: R, sizes: Sizes) -> Blocks<R> {
        Blocks {
            reader,
            sizes,
            splitter: Splitter::default(),
            buffer: Vec::new(),
            borders: Vec::new(),
            offset: 0,
            line: 1,
            games: 0,
            blocks: 0,
            complete: false,
            failed: None,
            dropped: (0, 0),
            dropped_words: false,
        }
    }

    /// The reader.
    pub fn reader(&self) -> &R {
        &self.reader
    }

    /// Unpacked bytes handed out so far.
    pub fn offset(&self) -> u64 {
        self.offset
    }

    /// The next block; `None` at the end.
    ///
    /// # Errors
    ///
    /// The reader's error, once all text before it has been handed out; the game that it
    /// interrupts has [`Cut::EndOfRead`].
    pub fn next_block(&mut self) -> io::Result<Option<Block>> {
        loop {
            let full = self
                .borders
                .iter()
                .position(|&border| border >= self.sizes.block);
            if let Some(last) = full {
                return Ok(Some(self.take(last + 1)));
            }
            if self.complete {
                if !self.buffer.is_empty() {
                    self.borders.push(self.buffer.len());
                    return Ok(Some(self.take(self.borders.len())));
                }
                return self.failed.take().map_or(Ok(None), Err);
            }
            // A game of any length must not fill the memory.
            match self.borders.last() {
                Some(&start) if self.buffer.len() - start > self.sizes.game => {
                    return Ok(Some(self.take(self.borders.len())));
                }
                None if self.buffer.len() > self.sizes.game => self.shorten(),
                _ => {}
            }
            self.fill();
        }
    }

    /// Drops the middle of the only game in the buffer; the splitter still needs its end.
    fn shorten(&mut self) {
        // Blank lines before a game are not part of it.
        let looked_at = &self.buffer[..self.splitter.scanned().min(self.buffer.len())];
        let white = looked_at.len() - looked_at.trim_ascii_start().len();
        if let Some(end) = memchr::memrchr(b'\n', &self.buffer[..white]) {
            let blank = end + 1;
            self.offset += blank as u64;
            self.line += memchr::memchr_iter(b'\n', &self.buffer[..blank]).count() as u64;
            self.buffer.drain(..blank);
            self.splitter.forget(blank);
            return;
        }
        let keep = self.sizes.game / 4;
        let end = self.splitter.scanned().max(keep);
        let middle = keep..end;
        let lines = memchr::memchr_iter(b'\n', &self.buffer[middle.clone()]).count();
        self.dropped.0 += middle.len() as u64;
        self.dropped.1 += lines as u64;
        self.dropped_words |= !self.buffer[middle.clone()].trim_ascii_start().is_empty();
        self.splitter.drop_middle(keep, middle.len());
        self.buffer.drain(middle);
    }

    /// Reads a fixed amount, however little the reader gives at a time, so that blocks do
    /// not depend on it.
    fn fill(&mut self) {
        const STEP: usize = 256 * 1024;
        let end = self.buffer.len() + STEP;
        let mut at = self.buffer.len();
        self.buffer.resize(end, 0);
        while at < end {
            match self.reader.read(&mut self.buffer[at..]) {
                Ok(0) => break,
                Ok(length) => at += length,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => {
                    self.failed = Some(error);
                    break;
                }
            }
        }
        self.buffer.truncate(at);
        blank_nul_bytes(&mut self.buffer[end - STEP..]);
        self.complete = at < end;
        self.splitter
            .advance(&self.buffer, self.complete, &mut self.borders);
    }

    /// Takes the games up to the `count`-th border out of the buffer.
    fn take(&mut self, count: usize) -> Block {
        let end = self.borders[count - 1];
        let last = end == self.buffer.len();
        let rest = self.buffer.split_off(end);
        let text = std::mem::replace(&mut self.buffer, rest);
        let mut games = Vec::with_capacity(count);
        let mut start = 0;
        for &border in &self.borders[..count] {
            let own = &text[start..border];
            let (bytes, lines) = std::mem::take(&mut self.dropped);
            let cut = if bytes > 0 {
                Some(Cut::TooLong)
            } else if last && border == end && self.failed.is_some() {
                Some(Cut::EndOfRead)
            } else {
                None
            };
            let blank = blank_start(own);
            let words = std::mem::take(&mut self.dropped_words);
            if words || cut == Some(Cut::EndOfRead) || blank < own.len() {
                self.games += 1;
                let lines = memchr::memchr_iter(b'\n', &own[..blank]).count();
                games.push(Place {
                    span: Span {
                        start: start + blank,
                        end: border,
                    },
                    file: 0,
                    number: self.games,
                    offset: self.offset + blank as u64,
                    line: self.line + lines as u64,
                    cut,
                });
            }
            self.line += lines + memchr::memchr_iter(b'\n', own).count() as u64;
            self.offset += bytes + own.len() as u64;
            start = border;
        }
        self.borders.drain(..count);
        for border in &mut self.borders {
            *border -= end;
        }
        self.splitter.forget(end);
        let number = self.blocks;
        self.blocks += 1;
        Block {
            number,
            end_offset: self.offset,
            files: Vec::new(),
            text,
            games,
        }
    }
}

/// Turns NUL bytes, with which some programs fill a file up, into blanks.
fn blank_nul_bytes(text: &mut [u8]) {
    let mut at = 0;
    while let Some(found) = memchr::memchr(0, &text[at..]) {
        at += found;
        let run = text[at..].iter_mut().take_while(|byte| **byte == 0);
        at += run.map(|byte| *byte = b' ').count();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(games: usize) -> String {
        (0..games)
            .map(|i| format!("[Event \"{i}\"]\n[Site \"x\"]\n\n1. e4 e5 {{ [ }} *\n\n"))
            .collect()
    }

    fn read(text: &[u8], sizes: Sizes) -> (Vec<Place>, Vec<Vec<u8>>, Option<io::ErrorKind>) {
        struct Failing<'a>(&'a [u8]);
        impl Read for Failing<'_> {
            fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
                match self.0.read(buffer)? {
                    0 => Err(io::ErrorKind::UnexpectedEof.into()),
                    length => Ok(length),
                }
            }
        }
        let broken = text.ends_with(b"!");
        let reader: Box<dyn Read> = if broken {
            Box::new(Failing(&text[..text.len() - 1]))
        } else {
            Box::new(text)
        };
        let mut blocks = Blocks::new(reader, sizes);
        let (mut places, mut texts) = (Vec::new(), Vec::new());
        loop {
            match blocks.next_block() {
                Ok(Some(block)) => {
                    for place in block.games {
                        texts.push(block.text[place.span.start..place.span.end].to_vec());
                        places.push(place);
                    }
                }
                Ok(None) => return (places, texts, None),
                Err(error) => return (places, texts, Some(error.kind())),
            }
        }
    }

    #[test]
    fn places_hold_for_any_block_size() {
        let text = sample(300);
        let game = 1 << 20;
        let whole = read(
            text.as_bytes(),
            Sizes {
                block: 1 << 20,
                game,
            },
        );
        assert_eq!(whole.0.len(), 300);
        for place in &whole.0 {
            let own = format!("[Event \"{}\"]", place.number - 1);
            let at = place.offset as usize;
            assert!(text[at..].starts_with(&own));
            let line = text[..at].matches('\n').count() as u64 + 1;
            assert_eq!(place.line, line);
        }
        for block in [1, 100, 1000, 5000] {
            let (places, texts, _) = read(text.as_bytes(), Sizes { block, game });
            assert_eq!(texts, whole.1);
            for (a, b) in places.iter().zip(&whole.0) {
                assert_eq!((a.number, a.offset, a.line), (b.number, b.offset, b.line));
            }
        }
    }

    #[test]
    fn endless_game_is_cut_and_the_next_one_found() {
        let (one, two) = (sample(1), sample(2));
        let text = format!(
            "{one}[Event \"long\"]\n\n{}\n{two}",
            "1. e4 { x }\n".repeat(200_000)
        );
        let (places, texts, error) = read(
            text.as_bytes(),
            Sizes {
                block: 500,
                game: 64 * 1024,
            },
        );
        assert_eq!(error, None);
        assert_eq!(places.len(), 4);
        assert_eq!(places[1].cut, Some(Cut::TooLong));
        assert!(texts[1].len() < 1 << 20);
        assert_eq!(texts[3], texts[3].trim_ascii_start());
        for place in &places {
            assert!(text[place.offset as usize..].starts_with("[Event"));
            let line = text[..place.offset as usize].matches('\n').count() as u64 + 1;
            assert_eq!(place.line, line);
        }
    }

    #[test]
    fn blank_lines_before_a_game_are_no_part_of_it() {
        let sizes = Sizes {
            block: 500,
            game: 64 * 1024,
        };
        let blank = "\n".repeat(700_000);
        let (places, _, _) = read(blank.as_bytes(), sizes);
        assert!(places.is_empty());
        let text = format!("{blank}{}", sample(2));
        let (places, texts, _) = read(text.as_bytes(), sizes);
        assert_eq!(places.len(), 2);
        assert_eq!(places[0].cut, None);
        assert_eq!((places[0].offset, places[0].line), (700_000, 700_001));
        assert_eq!(texts[0], sample(1).as_bytes());
        let spaces = " ".repeat(700_000);
        assert!(read(spaces.as_bytes(), sizes).0.is_empty());
    }

    #[test]
    fn text_before_a_read_error_is_handed_out() {
        let text = format!("{}!", &sample(3)[..100]);
        let (places, _, error) = read(text.as_bytes(), Sizes::default());
        assert_eq!(error, Some(io::ErrorKind::UnexpectedEof));
        assert_eq!(
            places.last().and_then(|place| place.cut),
            Some(Cut::EndOfRead)
        );
        assert!(
            places[..places.len() - 1]
                .iter()
                .all(|place| place.cut.is_none())
        );
    }

    #[test]
    fn nul_bytes_are_blanks() {
        let text = format!("\0\0{}{}", sample(2), "\0".repeat(4096));
        let (places, texts, _) = read(text.as_bytes(), Sizes::default());
        assert_eq!(places.len(), 2);
        assert_eq!(texts[0][..10], *b"  [Event \"");
        assert!(texts.iter().flatten().all(|&byte| byte != 0));
        assert!(read(&[0; 5000], Sizes::default()).0.is_empty());
    }

    #[test]
    fn blank_text_has_no_game() {
        for text in ["", "\n\n", "\u{feff}\n% x\n"] {
            assert!(read(text.as_bytes(), Sizes::default()).0.is_empty());
        }
    }
}
