//! Where the tag section of a game ends, and the lines in it that cannot be read.
//!
//! pgn-reader takes the rest of the line for the value of a tag that is not closed, and does not
//! tell where the movetext begins. The section is looked at line by line: quotes inside a value
//! that are not escaped, which archives hold, do not end it.

use std::ops::Range;

use hobble_archive::tag_line::{TagLine, rest_of_tag};

use crate::words::line_end;

const BOM: &[u8] = b"\xef\xbb\xbf";

/// The tag section of a game's text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TagSection {
    /// Byte at which the movetext begins: after the last tag, blank lines and escaped lines.
    pub end: usize,
    /// Whether some of its lines cannot be read.
    pub has_unreadable: bool,
}

impl TagSection {
    /// Looks at a game's text.
    pub fn of(text: &[u8]) -> TagSection {
        let mut has_unreadable = false;
        let end = walk(text, |_| has_unreadable = true);
        TagSection {
            end,
            has_unreadable,
        }
    }
}

/// The lines of a game's tag section that cannot be read, each with the lines on which its value
/// goes on.
pub(crate) fn unreadable_lines(text: &[u8]) -> Vec<Range<usize>> {
    let mut lines = Vec::new();
    walk(text, |line| lines.push(line));
    lines
}

/// Goes over the tag section of a text and calls `on_unreadable` for each line that cannot be
/// read; returns the end of the section.
fn walk(text: &[u8], mut on_unreadable: impl FnMut(Range<usize>)) -> usize {
    let mut at = if text.starts_with(BOM) { BOM.len() } else { 0 };
    while at < text.len() {
        let mut end = line_end(text, at);
        let indent = text[at..end].len() - text[at..end].trim_ascii_start().len();
        let line = text[at..end].trim_ascii();
        if line.starts_with(b"[") {
            let tag = TagLine::of(line);
            if !tag.readable {
                if tag.open && end < text.len() {
                    end += rest_of_tag(&text[end + 1..]);
                    end = line_end(text, end);
                }
                on_unreadable(at..end);
            } else if tag.length < line.len() {
                return at + indent + tag.length;
            }
        } else if !(line.is_empty() || line.starts_with(b"%")) {
            return at;
        }
        at = end + 1;
    }
    text.len()
}

/// Start of the line of a tag, 0 where it is not found.
pub fn tag_line(text: &[u8], name: &str) -> usize {
    let mut at = 0;
    for line in text[..TagSection::of(text).end].split_inclusive(|&byte| byte == b'\n') {
        let after_name = line
            .trim_ascii_start()
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
    fn lines_that_cannot_be_read() {
        let unreadable = |text: &str| {
            let lines = unreadable_lines(text.as_bytes());
            let has = TagSection::of(text.as_bytes()).has_unreadable;
            assert_eq!(has, !lines.is_empty());
            lines
                .into_iter()
                .map(|line| text[line].to_owned())
                .collect::<Vec<_>>()
        };
        assert_eq!(
            unreadable("[A \"x\"]\n[B \"y]\n[C z]\n*"),
            ["[B \"y]", "[C z]"]
        );
        assert_eq!(unreadable("[A \"x\"]\n [B"), [" [B"]);
        assert_eq!(unreadable("[A \"x\ny\"]\n[B \"z\"]\n*"), ["[A \"x\ny\"]"]);
        assert!(unreadable("[A \"x\"\n[C \"y\\\"z\" ]\n*").is_empty());
    }

    #[test]
    fn line_of_a_tag() {
        let text = b"[Event \"x\"]\n[EventDate \"y\"]\n[FEN \"z\"]\n\n*";
        assert_eq!(tag_line(text, "FEN"), 28);
        assert_eq!(tag_line(text, "Date"), 0);
    }
}
