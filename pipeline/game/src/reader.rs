//! Games read one at a time from their text.

use std::cell::RefCell;
use std::io::{self, Read};
use std::ops::Range;
use std::rc::Rc;

use hobble_terms::Reason;
use pgn_reader::Reader;

use crate::check;
use crate::game_text::GameText;
use crate::notation::Standard;
use crate::skip::Skip;
use crate::tag_section::{TagSection, unreadable_lines};
use crate::visitor::{GameVisitor, Part};

/// Longest tag line that pgn-reader is sure to see whole, in bytes.
const TAG_LINE: usize = 8192;

/// An escaped line behind each text, which pgn-reader passes over at once: near the end of its
/// input it would ask for more at each token.
static PADDING: [u8; 512] = {
    let mut padding = [b'%'; 512];
    padding[0] = b'\n';
    padding[1] = b'\n';
    padding
};

/// Text for pgn-reader, whose buffer is kept: a new one for each game costs a tenth more time.
#[derive(Debug, Default)]
struct Feed {
    text: Vec<u8>,
    at: usize,
}

impl Feed {
    fn start(&mut self, text: &[u8]) {
        self.at = 0;
        self.text.clear();
        self.text.extend_from_slice(text);
        self.text.extend_from_slice(&PADDING);
    }
}

#[derive(Clone, Debug, Default)]
struct FeedHandle(Rc<RefCell<Feed>>);

impl Read for FeedHandle {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let mut feed = self.0.borrow_mut();
        let length = (&feed.text[feed.at..]).read(buffer)?;
        feed.at += length;
        Ok(length)
    }
}

/// Reads games, keeping its buffers from one to the next.
pub struct GameReader {
    feed: FeedHandle,
    reader: Reader<FeedHandle>,
    visitor: GameVisitor,
}

impl Default for GameReader {
    fn default() -> Self {
        GameReader::new()
    }
}

impl GameReader {
    /// A reader with empty buffers.
    pub fn new() -> GameReader {
        let feed = FeedHandle::default();
        GameReader {
            reader: GameReader::open(&feed),
            feed,
            visitor: GameVisitor::default(),
        }
    }

    fn open(feed: &FeedHandle) -> Reader<FeedHandle> {
        Reader::build(feed.clone())
            .set_supported_tag_line_length(TAG_LINE)
            .finish()
    }

    /// The game read last.
    pub fn game(&self) -> &GameText {
        &self.visitor.game
    }

    /// Reads the text of one game.
    ///
    /// # Errors
    ///
    /// What stops it from being read; [`GameReader::game`] then holds what came before.
    pub fn read(&mut self, text: &[u8]) -> Result<&mut GameText, Skip> {
        let section = TagSection::of(text);
        let read = if section.has_unreadable {
            self.read_mended_tags(text, section.end)
        } else {
            self.read_notations(text, section.end)
        };
        match read {
            // A line may look like a tag and hold moves or an open comment for pgn-reader.
            Err(skip) if skip.at < section.end && !section.has_unreadable => {
                self.read_mended_tags(text, section.end)?;
            }
            read => read?,
        }
        let game = &mut self.visitor.game;
        game.clocks.resize(game.moves.len(), None);
        game.evals.resize(game.moves.len(), None);
        Ok(game)
    }

    /// Reads a game without the lines of its tag section that cannot be read.
    fn read_mended_tags(&mut self, text: &[u8], from: usize) -> Result<(), Skip> {
        let mut mended = text.to_vec();
        let mut lines = unreadable_lines(&text[..from]);
        for line in &lines {
            mended[line.clone()].fill(b' ');
        }
        let mut at = 0;
        for line in text[..from].split_inclusive(|&byte| byte == b'\n') {
            let own = at..at + line.len();
            at = own.end;
            self.visitor.clear();
            if self.read_tags(&mended[own.clone()]).is_some() {
                mended[own.clone()].fill(b' ');
                lines.push(own);
            }
        }
        lines.sort_by_key(|line| line.start);
        for line in &lines {
            refuse_decisive(text, line, from)?;
        }
        self.read_notations(&mended, from)?;
        let game = &mut self.visitor.game;
        game.unread_tags = u16::try_from(lines.len()).unwrap_or(u16::MAX);
        game.first_unread_tag = lines.first().map_or(0, |line| line.start);
        Ok(())
    }

    /// Reads a game as it is written, or else with its moves written the standard way.
    fn read_notations(&mut self, text: &[u8], from: usize) -> Result<(), Skip> {
        let Err(skip) = self.read_as_written(text, from) else {
            return Ok(());
        };
        // Few games come here.
        let standard = (skip.reason == Reason::UnreadableToken)
            .then(|| Standard::of(text, from))
            .flatten();
        match standard {
            Some(standard) if self.read_as_written(&standard.text, from).is_ok() => {
                self.visitor.game.read_from(standard);
                Ok(())
            }
            _ => Err(skip),
        }
    }

    /// Reads a game whose movetext begins at a byte of its text.
    fn read_as_written(&mut self, text: &[u8], from: usize) -> Result<(), Skip> {
        self.visitor.clear();
        if let Some(reason) = self.read_tags(&text[..from]) {
            return Err(Skip::whole(reason));
        }
        let stopped = self.read_part(Part::Movetext, &text[from..]).is_err();
        let game = &self.visitor.game;
        if game.moves.is_empty() && !game.tags.any() {
            let words = check::rest_of_line(text, from);
            return Err(Skip::at(Reason::NoGame, from, words));
        }
        let stray_text = check::unread(text, from, &self.visitor)?;
        if stopped {
            // Nothing but an open comment stops pgn-reader here.
            return Err(Skip::whole(Reason::UnclosedComment));
        }
        self.visitor.game.stray_text = stray_text;
        Ok(())
    }

    /// Reads tags; why they cannot be kept. After an unescaped quote in a value pgn-reader
    /// takes the rest of the line for movetext.
    fn read_tags(&mut self, text: &[u8]) -> Option<Reason> {
        match self.read_part(Part::Tags, text) {
            Ok(()) if self.visitor.move_among_tags => Some(Reason::UnreadableToken),
            Ok(()) => None,
            Err(_) if self.visitor.tags_ended => Some(Reason::UnclosedComment),
            Err(_) => Some(Reason::UnclosedTag),
        }
    }

    /// Lets pgn-reader read a part of the text.
    fn read_part(&mut self, part: Part, text: &[u8]) -> io::Result<()> {
        self.feed.0.borrow_mut().start(text.trim_ascii_end());
        self.visitor.begin(part);
        // A blank line ends pgn-reader's game, not ours.
        loop {
            match self.reader.read_game(&mut self.visitor) {
                Ok(Some(())) => {}
                Ok(None) => return Ok(()),
                Err(error) => {
                    // What it still holds belongs to this game.
                    self.reader = GameReader::open(&self.feed);
                    return Err(error);
                }
            }
        }
    }
}

/// Refuses a line of the tag section that cannot be read where the game could be another one
/// without it: it names the start position or the rules, or the text breaks off in it.
fn refuse_decisive(text: &[u8], line: &Range<usize>, from: usize) -> Result<(), Skip> {
    let words = text[line.clone()].trim_ascii();
    let name = words.strip_prefix(b"[").unwrap_or(words).trim_ascii_start();
    let decides = [b"FEN".as_slice(), b"Variant", b"SetUp"]
        .iter()
        .any(|tag| name.len() >= tag.len() && name[..tag.len()].eq_ignore_ascii_case(tag));
    let broken_off = line.end >= from && text[from..].trim_ascii().is_empty();
    if decides || broken_off {
        let at = line.start;
        return Err(Skip::at(
            Reason::UnclosedTag,
            at,
            check::rest_of_line(text, at),
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use hobble_terms::GameResult;

    use super::*;
    use crate::tags::Tag;

    fn read(text: &str) -> Result<(usize, GameResult), Skip> {
        GameReader::new()
            .read(text.as_bytes())
            .map(|game| (game.moves.len(), game.result()))
    }

    #[test]
    fn blank_lines_do_not_end_a_game() {
        let text = "[Event \"a\"]\n\n1. e4 (1. d4\n\nd5) e5\n\n\n2. Nf3 {x\n\ny} 1-0\n\n";
        assert_eq!(read(text), Ok((3, GameResult::White)));
        assert_eq!(
            read(&text.replace('\n', "\r\n")),
            Ok((3, GameResult::White))
        );
    }

    #[test]
    fn blank_line_does_not_end_a_variation() {
        let text = "[Event \"a\"]\n\n1. e4 (1. d4 (1. c4\n\nc5) d5 {x} 0-1) e5 1-0\n";
        assert_eq!(read(text), Ok((2, GameResult::White)));
    }

    #[test]
    fn text_after_an_unescaped_quote_in_a_tag_is_not_movetext() {
        let text = "[Event \"the \"0-1 (best\" game\"]\n[White \"b\"]\n\n1. e4 e5 1-0\n";
        let mut reader = GameReader::new();
        let game = reader.read(text.as_bytes()).unwrap();
        assert_eq!((game.moves.len(), game.result()), (2, GameResult::White));
        assert_eq!(game.tags.raw(Tag::Event), b"the ");
        assert_eq!(game.tags.raw(Tag::White), b"b");
        // A line with moves or an open comment there is passed over.
        for tag in [
            "[Event \"the \" e4 \" game\"]",
            "[Event \"the \" {best\" game\"]",
        ] {
            let text = format!("[White \"b\"]\n{tag}\n\n1. e4 e5 1-0\n");
            let game = reader.read(text.as_bytes()).unwrap();
            assert_eq!((game.moves.len(), game.unread_tags), (2, 1));
            assert_eq!(game.first_unread_tag, 12);
            assert_eq!(game.tags.raw(Tag::Event), b"");
            assert_eq!(game.tags.raw(Tag::White), b"b");
        }
    }

    #[test]
    fn tag_lines_that_cannot_be_read_are_passed_over_and_counted() {
        let mut reader = GameReader::new();
        let text =
            "[Event \"a\"]\n[Site \"b]\n[Date 2023]\n[Round \"x\ny\"]\n[White \"c\"]\n\n1. e4 *";
        let game = reader.read(text.as_bytes()).unwrap();
        assert_eq!((game.moves.len(), game.unread_tags), (1, 3));
        assert_eq!(game.first_unread_tag, 12);
        assert_eq!(game.tags.raw(Tag::Site), b"");
        assert_eq!(game.tags.raw(Tag::White), b"c");
        for (text, at) in [
            ("[Event \"a\"]\n[FEN \"8/8]\n\n1. e4 *", 12),
            ("[Event \"a\"]\n[Variant atomic]\n\n1. e4 *", 12),
            ("[Event \"a\"]\n[White \"b", 12),
        ] {
            let skip = read(text).unwrap_err();
            assert_eq!((skip.reason, skip.at), (Reason::UnclosedTag, at), "{text}");
        }
    }

    #[test]
    fn words_behind_the_result_are_stray_text() {
        let mut reader = GameReader::new();
        let text = "[Event \"a\"]\n\n1. e4 e5 1-0\n\nfrom the club's bulletin ) 12\n";
        let game = reader.read(text.as_bytes()).unwrap();
        assert_eq!((game.moves.len(), game.result()), (2, GameResult::White));
        assert_eq!(game.stray_text, text.find("from"));
        for text in [
            "1. e4 zork 1-0 x",
            "1. e4 1-0 x e5",
            "1. e4 zork",
            "1. e4 1-0 x { y",
        ] {
            let text = format!("[Event \"a\"]\n\n{text}");
            assert!(read(&text).is_err(), "{text}");
        }
        assert_eq!(
            reader.read(b"[A \"a\"]\n\n1. e4 *").unwrap().stray_text,
            None
        );
    }

    #[test]
    fn what_looks_like_a_tag_or_escape_in_the_movetext_is_found() {
        // pgn-reader takes the first for a tag and the second for an escaped line, in which
        // the brace opens nothing; both have as many bytes as the move in the comment.
        for (text, at) in [
            ("[Event \"a\"]\n\n1. d4\n[x {y] e4 } d5 *", 19),
            ("[Event \"a\"]\n\n1. d4\n\n  %a {\n e4 } d5 *", 22),
        ] {
            let skip = read(text).unwrap_err();
            assert_eq!((skip.reason, skip.at), (Reason::UnreadableToken, at));
        }
    }

    #[test]
    fn first_of_several_problems_is_named() {
        let problem = |moves: &str| {
            let skip = read(&format!("[Event \"a\"]\n\n{moves}")).unwrap_err();
            (skip.reason, skip.words)
        };
        let unreadable = |word: &str| (Reason::UnreadableToken, word.to_owned());
        assert_eq!(problem("1. e4 zork e5 1-0 { x"), unreadable("zork"));
        assert_eq!(problem("1. e4 e5 1-0 2. d4 zork"), unreadable("d4"));
        assert_eq!(problem("1. e4 ) e5 ( x"), unreadable(")"));
        assert_eq!(problem("1. e4 } e5 }d4"), unreadable("d4"));
        assert_eq!(problem("1. e4 ( x (y)"), unreadable("( x (y)"));
        let comment = (Reason::UnclosedComment, "{ x".to_owned());
        assert_eq!(problem("1. e4 ( 1. d4 { x"), comment);
    }

    #[test]
    fn pawn_letter_and_missing_promotion_sign_are_accepted() {
        assert_eq!(
            read("[A \"a\"]\n\n1. Pe4 Pe5 2. Pd2-d4 *"),
            Ok((3, GameResult::Unknown))
        );
        assert_eq!(
            read("[A \"a\"]\n\n1. Pe4 Pe5 *"),
            Ok((2, GameResult::Unknown))
        );
        let game = "[A \"a\"]\n\n1. e8Q+ axb1N *";
        assert_eq!(read(game), Ok((2, GameResult::Unknown)));
    }

    #[test]
    fn buffers_carry_nothing_over() {
        let mut reader = GameReader::new();
        let broken = "[Event \"a\"]\n\n1. e4 { never closed\n";
        let skip = reader.read(broken.as_bytes()).map(|_| ()).unwrap_err();
        assert_eq!(skip.reason, Reason::UnclosedComment);
        assert_eq!(&broken[skip.at..=skip.at], "{");
        let game = reader.read(b"[White \"b\"]\n\n1. d4 d5 *").unwrap();
        assert_eq!(game.moves.len(), 2);
        assert_eq!(game.tags.raw(Tag::Event), b"");
        assert_eq!(game.tags.raw(Tag::White), b"b");
    }

    #[test]
    fn junk_as_the_last_token_is_seen() {
        let skip = read("[Event \"a\"]\n\n1. e4 e5 2. Nf3 Qz9").unwrap_err();
        assert_eq!(
            (skip.reason, skip.words.as_str()),
            (Reason::UnreadableToken, "Qz9")
        );
    }

    #[test]
    fn long_comments_come_whole() {
        let text = format!(
            "[Event \"a\"]\n\n1. e4 {{{} [%clk 0:01:00]}} e5 *",
            "long ".repeat(10_000)
        );
        let mut reader = GameReader::new();
        let game = reader.read(text.as_bytes()).unwrap();
        assert_eq!(game.clocks, [Some(60.0), None]);
    }

    #[test]
    fn result_of_the_moves_wins_over_the_tag() {
        assert_eq!(
            read("[Result \"0-1\"]\n\n1. e4 1-0"),
            Ok((1, GameResult::White))
        );
        assert_eq!(
            read("[Result \"0-1\"]\n\n1. e4"),
            Ok((1, GameResult::Black))
        );
        assert_eq!(read("[Event \"x\"]\n\n1. e4"), Ok((1, GameResult::Unknown)));
    }
}
