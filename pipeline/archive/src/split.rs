//! Where one game ends and the next begins.
//!
//! A game is a tag section and the movetext after it. The border is a tag line (`[Name "` at
//! the start of a line, blanks before it allowed) that follows movetext, whatever state the
//! movetext is in: an unclosed comment or variation swallows no game after it. Lines of tags
//! that cannot be read ([`tag_line`](crate::tag_line)) are not movetext. A tag section that begins
//! again after a blank line (the name of its first tag comes again) is a new game too, the
//! one before it having no movetext. Text before the first tag line is a game of its own,
//! unless it is blank.

use crate::tag_line::{BOM, first_unreadable, holds_movetext};

/// Most bytes of a line that are looked at to see whether it is a tag line.
const LOOKAHEAD: usize = 160;

/// Most blanks before a tag.
const MOST_INDENT: usize = 64;

/// Text of one game in a buffer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// Byte after the last.
    pub end: usize,
}

/// Finds the borders of games in a text that arrives in pieces.
#[derive(Debug, Default)]
pub struct Splitter {
    /// All line starts before this have been scanned.
    scanned: usize,
    /// Start of the last tag line of the present game; `None` while it has none.
    last_tag: Option<usize>,
    first_tag: Vec<u8>,
    /// Start of the present game.
    start: usize,
}

impl Splitter {
    /// Looks at `text`, which begins at the same byte as in the last call (or see
    /// [`Splitter::forget`]) and goes on further; `complete` where nothing follows it.
    /// Adds the start of every game but the first in `text` to `borders`.
    pub fn advance(&mut self, text: &[u8], complete: bool, borders: &mut Vec<usize>) {
        let horizon = if complete {
            text.len()
        } else {
            text.len().saturating_sub(LOOKAHEAD)
        };
        while self.scanned < horizon {
            let Some(found) = memchr::memchr(b'[', &text[self.scanned..horizon]) else {
                self.scanned = horizon;
                return;
            };
            let at = self.scanned + found;
            self.scanned = at + 1;
            let line = line_start(text, at);
            if let (Some(line), Some(name)) = (line, tag_name(&text[at..])) {
                self.tag_line(text, line, name, borders);
                // Nothing else on this line can start one.
                self.scanned = memchr::memchr(b'\n', &text[at..])
                    .map_or(text.len(), |end| at + end)
                    .min(horizon);
            }
        }
    }

    fn tag_line(&mut self, text: &[u8], line: usize, name: &[u8], borders: &mut Vec<usize>) {
        // The end of the last tag line may not have been there when its start was.
        let since = match self.last_tag {
            Some(tag) => memchr::memchr(b'\n', &text[tag..]).map_or(line, |end| tag + end),
            None => self.start,
        };
        let since = since.min(line);
        let between = &text[since..line];
        let tag = self
            .last_tag
            .map_or(&b""[..], |tag| &text[tag..since.max(tag)]);
        let moves = holds_movetext(tag, between);
        let new = moves || self.first_tag == name && has_blank_line(between);
        if new {
            let border = if moves {
                first_unreadable(text, since, line)
            } else {
                line
            };
            borders.push(border);
            self.start = border;
        }
        if new || self.last_tag.is_none() {
            self.first_tag.clear();
            self.first_tag.extend_from_slice(name);
        }
        self.last_tag = Some(line);
    }

    /// How far the text has been looked at.
    pub fn scanned(&self) -> usize {
        self.scanned
    }

    /// Drops `bytes` bytes after the first `keep`, all of the present game and scanned.
    pub fn drop_middle(&mut self, keep: usize, bytes: usize) {
        self.scanned = self.scanned.saturating_sub(bytes);
        self.last_tag = self.last_tag.map(|tag| tag.min(keep));
    }

    /// Drops the first `bytes` bytes of the text, all of finished games.
    pub fn forget(&mut self, bytes: usize) {
        self.scanned = self.scanned.saturating_sub(bytes);
        self.start = self.start.saturating_sub(bytes);
        self.last_tag = self.last_tag.map(|tag| tag.saturating_sub(bytes));
    }
}

/// Whether a text that begins at the end of a line has a line that is blank or escaped.
fn has_blank_line(text: &[u8]) -> bool {
    let lines = text.split_inclusive(|&byte| byte == b'\n').skip(1);
    lines
        .map(<[u8]>::trim_ascii)
        .any(|line| line.is_empty() || line.starts_with(b"%") || line.starts_with(b";"))
}

/// Start of the line whose first character (after a byte order mark and blanks) is at `at`.
fn line_start(text: &[u8], at: usize) -> Option<usize> {
    let is_blank = |byte: &&u8| matches!(byte, b' ' | b'\t');
    let most = at.min(MOST_INDENT);
    let blanks = text[at - most..at].iter().rev().take_while(is_blank);
    let word = at - blanks.count();
    let line = if text[..word].ends_with(BOM) {
        word - BOM.len()
    } else {
        word
    };
    (line == 0 || text[line - 1] == b'\n').then_some(line)
}

/// Name of the tag of a tag line.
fn tag_name(line: &[u8]) -> Option<&[u8]> {
    let rest = line.strip_prefix(b"[")?;
    let length = rest
        .iter()
        .take(LOOKAHEAD / 2)
        .position(|byte| !byte.is_ascii_alphanumeric() && *byte != b'_')?;
    let (name, after) = rest.split_at(length);
    let blanks = after
        .iter()
        .take(LOOKAHEAD / 4)
        .take_while(|&&byte| byte == b' ' || byte == b'\t')
        .count();
    (!name.is_empty() && after.get(blanks) == Some(&b'"')).then_some(name)
}

/// Bytes of the blank lines at the start of a text: those with white space, a byte order
/// mark alone, escaped lines (`%`) and rest-of-line comments (`;`).
pub fn blank_start(text: &[u8]) -> usize {
    let mut at = 0;
    while at < text.len() {
        let end = memchr::memchr(b'\n', &text[at..]).map_or(text.len(), |end| at + end + 1);
        let line = &text[at..end];
        let line = line.strip_prefix(BOM).unwrap_or(line).trim_ascii();
        if !(line.is_empty() || line.starts_with(b"%") || line.starts_with(b";")) {
            return at;
        }
        at = end;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    fn games(text: &str) -> Vec<&str> {
        let mut borders = vec![0];
        Splitter::default().advance(text.as_bytes(), true, &mut borders);
        borders.push(text.len());
        borders
            .windows(2)
            .map(|pair| &text[pair[0]..pair[1]])
            .collect()
    }

    #[test]
    fn border_is_a_tag_line_after_movetext() {
        let one = "[Event \"a\"]\n[White \"b\"]\n\n1. e4 { open\n";
        let two = "[Event \"c\"]\n\n1. d4 *\n";
        assert_eq!(games(&format!("{one}{two}")), [one, two]);
    }

    #[test]
    fn clock_at_a_line_start_is_not_a_border() {
        let text = "[Event \"a\"]\n\n1. e4 {\n[%clk 0:01:00]} e5\n[ %x \"] *\n";
        assert_eq!(games(text), [text]);
    }

    #[test]
    fn tags_twice_without_moves_are_two_games() {
        let one = "[Event \"a\"]\n[Result \"*\"]\n\n";
        let two = "[Event \"b\"]\n\n*\n";
        assert_eq!(games(&format!("{one}{two}")), [one, two]);
        let spaced = "[Event \"a\"]\n\n[Result \"*\"]\n\n*\n";
        assert_eq!(games(spaced), [spaced]);
    }

    #[test]
    fn blanks_may_stand_before_a_tag() {
        let (one, two) = ("  [Event \"a\"]\n\n1. e4 *\n", "\t[Event \"b\"]\n\n*\n");
        assert_eq!(games(&format!("{one}{two}")), [one, two]);
    }

    #[test]
    fn tag_that_cannot_be_read_splits_no_game() {
        for odd in ["[Site x]", "[Site \"x", "[Site \"x\ny\"]", "[Site", "[]"] {
            let one = format!("[Event \"a\"]\n{odd}\n[White \"b\"]\n\n1. e4 *\n");
            let two = format!("{odd}\n[White \"b\"]\n\n1. d4 *\n");
            assert_eq!(games(&format!("{one}{one}")), [&one, &one], "{odd}");
            if odd == "[Site x]" {
                assert_eq!(games(&format!("{one}{two}")), [&one, &two], "{odd}");
            }
        }
    }

    #[test]
    fn text_before_the_first_tag_stands_apart() {
        let (one, two) = ("stray words\n", "[Event \"b\"]\n\n*\n");
        assert_eq!(games(&format!("{one}{two}")), [one, two]);
        let blank = format!("\u{feff}% escaped\n\n{two}");
        assert_eq!(games(&blank), [&blank]);
    }

    #[test]
    fn borders_do_not_depend_on_the_pieces() {
        let mut text = String::new();
        for i in 0..40 {
            text.push_str(&format!(
                "[Event \"{i}\"]\n[Site \"x\"]\n\n1. e4 e5 {{ [ }} *\n\n"
            ));
        }
        let text = text.as_bytes();
        let mut whole = Vec::new();
        Splitter::default().advance(text, true, &mut whole);
        assert_eq!(whole.len(), 39);
        for step in [1, 7, 161, 500] {
            let mut splitter = Splitter::default();
            let mut found = Vec::new();
            for end in (0..text.len()).step_by(step) {
                splitter.advance(&text[..end], false, &mut found);
            }
            splitter.advance(text, true, &mut found);
            assert_eq!(found, whole, "steps of {step}");
        }
    }
}
