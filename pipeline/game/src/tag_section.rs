//! Where the tag section of a game ends, and a tag in it that is not closed.
//!
//! pgn-reader ends a tag that is not closed with its line and says nothing, and does not tell
//! where the movetext begins. The section is looked at line by line: quotes inside a value that
//! are not escaped, which archives hold, do not end it.

use crate::words::line_end;

const BOM: &[u8] = b"\xef\xbb\xbf";

/// The tag section of a game's text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TagSection {
    /// Byte at which the movetext begins: after the last tag, blank lines and escaped lines.
    pub end: usize,
    /// Start of the first line with a tag that is not closed.
    pub unclosed: Option<usize>,
}

impl TagSection {
    /// Looks at a game's text.
    pub fn of(text: &[u8]) -> TagSection {
        let mut at = if text.starts_with(BOM) { BOM.len() } else { 0 };
        let mut unclosed = None;
        while at < text.len() {
            let end = line_end(text, at);
            let indent = text[at..end].len() - text[at..end].trim_ascii_start().len();
            let line = text[at..end].trim_ascii();
            if line.starts_with(b"[") {
                let (length, closed) = tags_of(line);
                if !closed {
                    unclosed.get_or_insert(at);
                }
                if length < line.len() {
                    let end = at + indent + length;
                    return TagSection { end, unclosed };
                }
            } else if !(line.is_empty() || line.starts_with(b"%")) {
                return TagSection { end: at, unclosed };
            }
            at = end + 1;
        }
        let end = text.len();
        TagSection { end, unclosed }
    }
}

/// Bytes of the tags in a line that starts with one, and whether all are closed. The rest of a
/// line that ends with `]` belongs to its tags; other text behind them does not.
fn tags_of(line: &[u8]) -> (usize, bool) {
    let mut at = 0;
    loop {
        let tag = &line[at..];
        if tag.ends_with(b"\"]") {
            return (line.len(), true);
        }
        let Some(quote) = closing_quote(tag) else {
            // A name alone, neither quoted nor closed, is a tag cut off.
            let closed = !tag.contains(&b'"') && tag.contains(&b']');
            return (line.len(), closed);
        };
        let behind = &tag[quote + 1..];
        let is_end = |byte: &&u8| matches!(byte, b' ' | b'\t' | b']');
        at += quote + 1 + behind.iter().take_while(is_end).count();
        if at == line.len() || line.ends_with(b"]") {
            return (line.len(), true);
        }
        if line[at] != b'[' {
            return (at, true);
        }
    }
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

/// Start of the line of a tag, 0 where it is not found.
pub fn tag_line(text: &[u8], name: &str) -> usize {
    let mut at = 0;
    for line in text[..TagSection::of(text).end].split_inclusive(|&byte| byte == b'\n') {
        let after_name = line
            .strip_prefix(b"[")
            .and_then(|rest| rest.strip_prefix(name.as_bytes()));
        if let Some([b' ' | b'\t' | b'"', ..]) = after_name {
            return at;
        }
        at += line.len();
    }
    0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn movetext(text: &str) -> &str {
        &text[TagSection::of(text.as_bytes()).end..]
    }

    #[test]
    fn movetext_begins_after_tags_blank_and_escaped_lines() {
        let text = "\u{feff}[Event \"x\"]\r\n\r\n%e\r\n1. e4 *";
        assert_eq!(movetext(text), "1. e4 *");
        assert_eq!(movetext("  [A \"x\"] [B \"y\"] 1. e4 *"), "1. e4 *");
        assert_eq!(movetext("[A \"the \"big\" one\"]\n1. e4 *"), "1. e4 *");
        assert_eq!(movetext("[A \"x\"]\n"), "");
    }

    #[test]
    fn tag_that_is_not_closed_has_a_place() {
        let unclosed = |text: &str| TagSection::of(text.as_bytes()).unclosed;
        assert_eq!(unclosed("[A \"x\"]\n[B \"y]\n[C \"z\n*"), Some(8));
        assert_eq!(unclosed("[A \"x\"]\n[B"), Some(8));
        assert_eq!(unclosed("[A \"x\\\"]\n*"), None, "ends as a tag does");
        assert_eq!(unclosed("[A \"x\"\n[B]\n[C \"y\\\"z\" ]\n*"), None);
    }

    #[test]
    fn line_of_a_tag() {
        let text = b"[Event \"x\"]\n[EventDate \"y\"]\n[FEN \"z\"]\n\n*";
        assert_eq!(tag_line(text, "FEN"), 28);
        assert_eq!(tag_line(text, "Date"), 0);
    }
}
