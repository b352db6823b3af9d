//! Games read one at a time from their text.

use std::cell::RefCell;
use std::io::{self, Read};
use std::ops::ControlFlow;
use std::rc::Rc;

use pgn_reader::{RawComment, RawTag, Reader, Visitor};
use shakmaty::san::{San, SanError, SanPlus};
use shakmaty::{Chess, KnownOutcome, Move, Outcome, Position};

use crate::comment::{self, Eval};
use crate::movetext;
use crate::skip::{Reason, Skip};
use crate::tags::{Tag, Tags};

/// Longest tag line the reader is promised to see whole, in bytes; longer ones may do.
const TAG_LINE: usize = 8192;

/// Blank lines behind each game, more than the reader ever looks ahead for a token.
const PADDING: usize = 512;

/// Result of a game.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum GameResult {
    /// 1-0
    White = 0,
    /// 0-1
    Black = 1,
    /// 1/2-1/2
    Draw = 2,
    /// *
    Unknown = 3,
}

impl GameResult {
    /// All results.
    pub const ALL: [GameResult; 4] = [
        GameResult::White,
        GameResult::Black,
        GameResult::Draw,
        GameResult::Unknown,
    ];

    /// The PGN token.
    pub const fn name(self) -> &'static str {
        match self {
            GameResult::White => "1-0",
            GameResult::Black => "0-1",
            GameResult::Draw => "1/2-1/2",
            GameResult::Unknown => "*",
        }
    }

    fn of_tag(value: &[u8]) -> GameResult {
        match value.trim_ascii() {
            b"1-0" => GameResult::White,
            b"0-1" => GameResult::Black,
            b"1/2-1/2" => GameResult::Draw,
            _ => GameResult::Unknown,
        }
    }

    fn of_outcome(outcome: Outcome) -> GameResult {
        match outcome {
            Outcome::Known(KnownOutcome::Decisive { winner }) => {
                winner.fold_wb(GameResult::White, GameResult::Black)
            }
            Outcome::Known(KnownOutcome::Draw) => GameResult::Draw,
            Outcome::Unknown => GameResult::Unknown,
        }
    }
}

/// What a game's text says.
#[derive(Debug, Default)]
pub struct GameText {
    /// Its tags.
    pub tags: Tags,
    /// Its moves.
    pub moves: Vec<San>,
    /// Seconds left after each ply, where told.
    pub clocks: Vec<Option<f32>>,
    /// Evaluation after each ply, where told.
    pub evals: Vec<Option<Eval>>,
    outcome: Option<GameResult>,
    /// Comment being put together.
    comment: Vec<u8>,
}

impl GameText {
    /// Result by the end of the moves, or else the Result tag.
    pub fn result(&self) -> GameResult {
        self.outcome
            .unwrap_or_else(|| GameResult::of_tag(self.tags.raw(Tag::Result)))
    }

    fn clear(&mut self) {
        self.tags.clear();
        self.moves.clear();
        self.clocks.clear();
        self.evals.clear();
        self.outcome = None;
        self.comment.clear();
    }

    fn told(&mut self) {
        let told = comment::read(&self.comment);
        self.comment.clear();
        let Some(last) = self.moves.len().checked_sub(1) else {
            return;
        };
        // The first that can be read counts.
        if told.clock.is_some() {
            self.clocks.resize(last + 1, None);
            self.clocks[last] = self.clocks[last].or(told.clock);
        }
        if told.eval.is_some() {
            self.evals.resize(last + 1, None);
            self.evals[last] = self.evals[last].or(told.eval);
        }
    }
}

impl Visitor for GameText {
    type Tags = ();
    type Movetext = ();
    type Output = ();

    fn begin_tags(&mut self) -> ControlFlow<(), ()> {
        ControlFlow::Continue(())
    }

    fn tag(&mut self, (): &mut (), name: &[u8], value: RawTag<'_>) -> ControlFlow<()> {
        self.tags.note();
        if let Some(tag) = Tag::of_name(name) {
            self.tags.set(tag, &value.decode());
        }
        ControlFlow::Continue(())
    }

    fn begin_movetext(&mut self, (): ()) -> ControlFlow<(), ()> {
        ControlFlow::Continue(())
    }

    fn san(&mut self, (): &mut (), san: SanPlus) -> ControlFlow<()> {
        self.moves.push(san.san);
        ControlFlow::Continue(())
    }

    fn partial_comment(&mut self, (): &mut (), comment: RawComment<'_>) -> ControlFlow<()> {
        self.comment.extend_from_slice(comment.as_bytes());
        ControlFlow::Continue(())
    }

    fn comment(&mut self, (): &mut (), comment: RawComment<'_>) -> ControlFlow<()> {
        self.comment.extend_from_slice(comment.as_bytes());
        self.told();
        ControlFlow::Continue(())
    }

    fn outcome(&mut self, (): &mut (), outcome: Outcome) -> ControlFlow<()> {
        self.outcome.get_or_insert(GameResult::of_outcome(outcome));
        ControlFlow::Continue(())
    }

    fn end_game(&mut self, (): ()) {}
}

/// Text of the present game, for the reader.
#[derive(Debug, Default)]
struct Feed {
    bytes: Vec<u8>,
    at: usize,
}

#[derive(Clone, Debug, Default)]
struct FeedHandle(Rc<RefCell<Feed>>);

impl Read for FeedHandle {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let mut feed = self.0.borrow_mut();
        let length = (&feed.bytes[feed.at..]).read(buffer)?;
        feed.at += length;
        Ok(length)
    }
}

/// Reads games, keeping its buffers from one to the next.
pub struct GameReader {
    feed: FeedHandle,
    reader: Reader<FeedHandle>,
    game: GameText,
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
            game: GameText::default(),
        }
    }

    fn open(feed: &FeedHandle) -> Reader<FeedHandle> {
        Reader::build(feed.clone())
            .set_supported_tag_line_length(TAG_LINE)
            .finish()
    }

    /// The game read last.
    pub fn game(&self) -> &GameText {
        &self.game
    }

    /// Reads the text of one game.
    ///
    /// # Errors
    ///
    /// What stops it from being read; [`GameReader::game`] then holds what came before.
    pub fn read(&mut self, text: &[u8]) -> Result<&GameText, Skip> {
        let from = movetext::begin(text);
        if let Err(skip) = self.read_as_it_stands(text, from) {
            // The slow way, for the few: once more with promotions written the usual way.
            let mended = (skip.reason == Reason::UnreadableToken)
                .then(|| movetext::with_promotion_signs(text, from))
                .flatten();
            match mended {
                Some(mended) if self.read_as_it_stands(&mended, from).is_ok() => {}
                _ => return Err(skip),
            }
        }
        if let Some(at) = movetext::unclosed_tag(text) {
            return Err(Skip::at(
                Reason::UnclosedTag,
                at,
                movetext::line_of(text, at),
            ));
        }
        let game = &mut self.game;
        game.clocks.resize(game.moves.len(), None);
        game.evals.resize(game.moves.len(), None);
        Ok(game)
    }

    fn read_as_it_stands(&mut self, text: &[u8], from: usize) -> Result<(), Skip> {
        self.game.clear();
        {
            let mut feed = self.feed.0.borrow_mut();
            feed.at = 0;
            feed.bytes.clear();
            feed.bytes.extend_from_slice(text.trim_ascii_end());
            squeeze(&mut feed.bytes);
            let length = feed.bytes.len();
            feed.bytes.resize(length + PADDING, b'\n');
        }
        // A blank line ends the reader's game, not ours.
        loop {
            match self.reader.read_game(&mut self.game) {
                Ok(Some(())) => {}
                Ok(None) => break,
                Err(error) => {
                    // What it still holds belongs to the broken game.
                    self.reader = GameReader::open(&self.feed);
                    return Err(broken(text, from, &error));
                }
            }
        }
        let game = &self.game;
        let nothing = game.moves.is_empty() && !game.tags.any();
        if !movetext::agrees(text, from, &game.moves) {
            let skip = movetext::explain(text, from);
            if !(nothing && skip.reason == Reason::UnreadableToken) {
                return Err(skip);
            }
        }
        if nothing {
            return Err(Skip::at(
                Reason::NoGame,
                from,
                movetext::line_of(text, from),
            ));
        }
        Ok(())
    }
}

/// Takes blank lines out of the movetext, where the reader would take the rest for
/// another game. Most games have none, and are not touched.
fn squeeze(text: &mut Vec<u8>) {
    let from = movetext::begin(text);
    let blank = |text: &[u8]| {
        memchr::memmem::find(text, b"\n\n").is_some()
            || memchr::memmem::find(text, b"\n\r\n").is_some()
    };
    if !blank(&text[from..]) {
        return;
    }
    let mut kept = from;
    for at in from..text.len() {
        let byte = text[at];
        let line_is_blank = byte == b'\n' && {
            let before = text[from..kept]
                .strip_suffix(b"\r")
                .unwrap_or(&text[from..kept]);
            before.ends_with(b"\n")
        };
        if !line_is_blank {
            text[kept] = byte;
            kept += 1;
        } else if text[..kept].ends_with(b"\r") {
            kept -= 1;
        }
    }
    text.truncate(kept);
}

/// Tells apart what the reader gives up on.
fn broken(text: &[u8], from: usize, error: &io::Error) -> Skip {
    if error.to_string().contains("comment") {
        movetext::explain(text, from)
    } else {
        let at = movetext::unclosed_tag(text).unwrap_or(0);
        Skip::at(Reason::UnclosedTag, at, movetext::line_of(text, at))
    }
}

/// The move that a SAN means in a position.
///
/// # Errors
///
/// Where the rules do not allow it, or it could mean several.
#[inline]
pub fn resolve(san: San, position: &Chess) -> Result<Move, Reason> {
    san.to_move(position).map_err(|error| refusal(san, error))
}

/// Why a SAN that means no move is refused.
pub fn refusal(san: San, error: SanError) -> Reason {
    match (san, error) {
        (San::Null, _) => Reason::NullMove,
        (_, SanError::AmbiguousSan) => Reason::AmbiguousMove,
        (_, SanError::IllegalSan) => Reason::IllegalMove,
    }
}

/// How a position stands by the rules alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Ending {
    /// Checkmate.
    Checkmate = 0,
    /// Stalemate.
    Stalemate = 1,
    /// Neither side can mate.
    Dead = 2,
    /// None of these.
    Open = 3,
}

impl Ending {
    /// All endings.
    pub const ALL: [Ending; 4] = [
        Ending::Checkmate,
        Ending::Stalemate,
        Ending::Dead,
        Ending::Open,
    ];

    /// Ending of a last position.
    pub fn of(position: &Chess) -> Ending {
        if position.is_checkmate() {
            Ending::Checkmate
        } else if position.is_stalemate() {
            Ending::Stalemate
        } else if position.is_insufficient_material() {
            Ending::Dead
        } else {
            Ending::Open
        }
    }

    /// Name in the tables.
    pub const fn name(self) -> &'static str {
        match self {
            Ending::Checkmate => "checkmate",
            Ending::Stalemate => "stalemate",
            Ending::Dead => "dead",
            Ending::Open => "open",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
