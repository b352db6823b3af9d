//! Lines of a tag section, and those among them that cannot be read as tags.
//!
//! Archives hold tags without a closing quote, values without quotes, values that go on in the
//! next line. Such lines are passed over, and must not be taken for moves: the cut between two
//! games would come in the middle of the tags. [`split`](crate::split) and the reader of games
//! go by the same rules, which stand here.

/// UTF-8 byte order mark; it may stand before any game where files were put together.
pub(crate) const BOM: &[u8] = b"\xef\xbb\xbf";

/// Most lines over which a tag that is not closed is followed to its end.
const MOST_LINES: usize = 8;

/// How far the tags of a line go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TagLine {
    /// Bytes of the tags; what is behind them is movetext.
    pub length: usize,
    /// Whether all of them can be read.
    pub readable: bool,
    /// Whether the value may go on in the next line.
    pub open: bool,
}

impl TagLine {
    /// Looks at a line that starts with `[`, without white space around it. The rest of a line
    /// that ends with `]` belongs to its tags; other text behind them does not.
    pub fn of(line: &[u8]) -> TagLine {
        let whole = |readable, open| TagLine {
            length: line.len(),
            readable,
            open,
        };
        let mut at = 0;
        loop {
            let tag = &line[at..];
            if tag.ends_with(b"\"]") {
                return whole(has_name(tag), false);
            }
            let Some(quote) = closing_quote(tag) else {
                return whole(false, !tag.contains(&b']') || tag.contains(&b'"'));
            };
            let behind = &tag[quote + 1..];
            let is_end = |byte: &&u8| matches!(byte, b' ' | b'\t' | b']');
            at += quote + 1 + behind.iter().take_while(is_end).count();
            if at == line.len() || line.ends_with(b"]") {
                return whole(has_name(tag), false);
            }
            if line[at] != b'[' {
                return TagLine {
                    length: at,
                    readable: has_name(tag),
                    open: false,
                };
            }
        }
    }
}

/// Whether a quoted value has the name of a tag before it.
fn has_name(tag: &[u8]) -> bool {
    let quote = memchr::memchr(b'"', tag).unwrap_or(tag.len());
    let name = tag[1.min(quote)..quote].trim_ascii();
    !name.is_empty() && !name.iter().any(u8::is_ascii_whitespace)
}

/// Where the quote ends that opens first.
fn closing_quote(tag: &[u8]) -> Option<usize> {
    let first = memchr::memchr(b'"', tag)? + 1;
    let mut escaped = false;
    let length = tag[first..].iter().position(|&byte| {
        let closes = byte == b'"' && !escaped;
        escaped = byte == b'\\' && !escaped;
        closes
    });
    length.map(|length| first + length)
}

/// Bytes of the lines behind a tag that is not closed which hold the rest of its value: up to
/// one that ends with `"]`, with neither a blank line nor one that starts with `[` before it.
/// `text` begins behind the line break of the tag's line.
pub fn rest_of_tag(text: &[u8]) -> usize {
    let mut at = 0;
    for line in text.split_inclusive(|&byte| byte == b'\n').take(MOST_LINES) {
        let words = line.trim_ascii();
        if words.is_empty() || words.starts_with(b"[") {
            return 0;
        }
        at += line.len();
        if words.ends_with(b"\"]") {
            return at;
        }
    }
    0
}

/// Whether a text that follows the tag line `tag` holds moves or other words: anything but
/// blank and escaped lines, comments to the end of a line, and lines of a tag section.
pub(crate) fn holds_movetext(tag: &[u8], text: &[u8]) -> bool {
    let mut open = is_open(tag);
    // The tag's own line break.
    let mut at = usize::from(text.starts_with(b"\n"));
    while at < text.len() {
        if std::mem::take(&mut open) {
            at += rest_of_tag(&text[at..]);
        }
        let end = memchr::memchr(b'\n', &text[at..]).map_or(text.len(), |end| at + end + 1);
        let line = words_of(&text[at..end]);
        match line.first() {
            None | Some(b'%' | b';') => {}
            Some(b'[') if !line.starts_with(b"[%") => open = is_open(line),
            Some(_) => return true,
        }
        at = end;
    }
    false
}

/// A line without white space around it and without a byte order mark.
fn words_of(line: &[u8]) -> &[u8] {
    line.strip_prefix(BOM).unwrap_or(line).trim_ascii()
}

fn is_open(line: &[u8]) -> bool {
    let line = words_of(line);
    line.starts_with(b"[") && !line.ends_with(b"\"]") && TagLine::of(line).open
}

/// Start of the first of the lines directly before byte `line` that look like tags, though they
/// cannot be read; `line` where there is none.
pub(crate) fn first_unreadable(text: &[u8], from: usize, line: usize) -> usize {
    let mut first = line;
    while first > from {
        let start = memchr::memrchr(b'\n', &text[from..first - 1]).map_or(from, |at| from + at + 1);
        let words = text[start..first].trim_ascii();
        let named = words.len() > 2 && words[0] == b'[' && words[1].is_ascii_alphabetic();
        // What follows a move in its line is not a tag.
        if !(named && words.ends_with(b"]") && text[..start].last().is_none_or(|&b| b == b'\n')) {
            break;
        }
        first = start;
    }
    first
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_that_can_be_read_and_others() {
        let of = |line: &'static str| {
            let tag = TagLine::of(line.as_bytes());
            (&line[tag.length..], tag.readable, tag.open)
        };
        assert_eq!(of("[A \"x\"]"), ("", true, false));
        assert_eq!(of("[A \"x\" ]"), ("", true, false));
        assert_eq!(of("[A \"x\""), ("", true, false), "the bracket is missing");
        assert_eq!(of("[A \"x\\\"]"), ("", true, false), "ends as a tag does");
        assert_eq!(of("[A \"x\"] [B \"y\"] 1. e4"), ("1. e4", true, false));
        assert_eq!(of("[A \"the \"big\" one\"]"), ("", true, false));
        assert_eq!(of("[A \"x]"), ("", false, true));
        assert_eq!(of("[A x]"), ("", false, false));
        assert_eq!(of("[A"), ("", false, true));
        assert_eq!(of("[A x\"]"), ("", false, false));
        assert_eq!(of("[ \"x\"]"), ("", false, false));
    }

    #[test]
    fn value_that_goes_on_in_the_next_lines() {
        assert_eq!(rest_of_tag(b"more\nwords\"]\n[B \"y\"]\n"), 13);
        assert_eq!(rest_of_tag(b"[B \"y\"]\n"), 0);
        assert_eq!(rest_of_tag(b"more\n\nwords\"]\n"), 0);
        assert_eq!(rest_of_tag(b"1. e4 *\n"), 0);
    }

    #[test]
    fn lines_of_a_tag_section_are_not_moves() {
        let moves = |tag: &str, text: &str| holds_movetext(tag.as_bytes(), text.as_bytes());
        assert!(!moves("[A \"x\"]", "\n\n% x\n[B x]\n  [C\n"));
        assert!(!moves("[A \"x", "\ny\"]\n"));
        assert!(moves("[A \"x\"]", "\ny\"]\n"));
        assert!(moves("[A \"x\"]", "\n1. e4 {\n[%clk 0:01:00]}\n"));
        assert!(moves("[A \"x\"]", "\n[%clk 0:01:00]}\n"));
    }
}
