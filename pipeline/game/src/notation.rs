//! Other ways to write moves and results, turned into those that pgn-reader reads.
//!
//! Read are: promotions without their sign (`e8Q`) and coordinates with one in a small letter
//! (`e7e8q`), long algebraic moves (`Ng1-f3`), `e.p.` and `ep` behind a capture, figurine letters,
//! and typographic dashes in results and castling. Few games hold any of these: this is tried
//! where a game could not be read as it is written.

use crate::words::{RESULTS, Words};

/// A movetext written the standard way, and where its words stood before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Standard {
    /// The game's text.
    pub text: Vec<u8>,
    /// Byte of `text` behind each change, and how many bytes were added (or removed) up to it.
    changes: Vec<(usize, isize)>,
}

impl Standard {
    /// The game's text with its moves written the standard way; `None` where they are already.
    pub fn of(text: &[u8], from: usize) -> Option<Standard> {
        let mut standard = Standard {
            text: Vec::with_capacity(text.len() + 16),
            changes: Vec::new(),
        };
        let mut copied = 0;
        for word in Words::new(text, from) {
            if word.start < copied {
                continue;
            }
            let (read, behind) = match standard_word(&text[word.clone()]) {
                Some(read) => (read, word.end),
                None => (text[word.clone()].to_vec(), word.end),
            };
            let (read, end) = match en_passant(&read, text, word.start, behind) {
                Some((capture, end)) => (capture, end),
                None => (read, behind),
            };
            if text[word.start..end] == read {
                continue;
            }
            standard.text.extend_from_slice(&text[copied..word.start]);
            standard.text.extend_from_slice(&read);
            copied = end;
            let added = standard.text.len() as isize - copied as isize;
            standard.changes.push((standard.text.len(), added));
        }
        standard.text.extend_from_slice(&text[copied..]);
        (!standard.changes.is_empty()).then_some(standard)
    }

    /// Where a byte at the start of a word stood in the text as it was written.
    pub fn original(&self, at: usize) -> usize {
        let before = self.changes.partition_point(|&(end, _)| end <= at);
        let added = before.checked_sub(1).map_or(0, |n| self.changes[n].1);
        at.saturating_add_signed(-added)
    }
}

/// A word written the standard way; `None` where it is already, or is not a move or result.
fn standard_word(word: &[u8]) -> Option<Vec<u8>> {
    let plain = plain_letters(word)?;
    let plain = plain.as_slice();
    if RESULTS.iter().any(|result| result.as_bytes() == plain) {
        return Some(plain.to_vec());
    }
    let suffix = plain.iter().rev().take_while(|b| matches!(b, b'+' | b'#'));
    let (mv, suffix) = plain.split_at(plain.len() - suffix.count());
    let mut read = mv.to_vec();
    // Ng1-f3
    if let Some(dash) = memchr::memchr(b'-', mv) {
        let to = mv.get(dash + 1..dash + 3);
        let squares = dash >= 2 && is_square(&mv[dash - 2..dash]) && to.is_some_and(is_square);
        if squares && !mv[dash + 1..].contains(&b'-') {
            read.remove(dash);
        }
    }
    let is_piece = |byte: u8| matches!(byte, b'N' | b'B' | b'R' | b'Q');
    match read.as_slice() {
        // e7e8q
        [from @ .., b'1' | b'8', piece]
            if from.len() == 3 && is_square(&from[..2]) && is_piece(piece.to_ascii_uppercase()) =>
        {
            let piece = piece.to_ascii_uppercase();
            read.pop();
            read.extend([b'=', piece]);
        }
        // e8Q
        [b'a'..=b'h', .., b'1' | b'8', piece] if is_piece(*piece) => {
            read.insert(read.len() - 1, b'=');
        }
        _ => {}
    }
    read.extend_from_slice(suffix);
    (read != word).then_some(read)
}

fn is_square(text: &[u8]) -> bool {
    matches!(text, [b'a'..=b'h', b'1'..=b'8'])
}

/// A word in ASCII: figurines as letters, dashes as hyphens. `None` where it holds other signs.
fn plain_letters(word: &[u8]) -> Option<Vec<u8>> {
    if word.is_ascii() {
        return Some(word.to_vec());
    }
    let mut plain = Vec::with_capacity(word.len());
    match std::str::from_utf8(word) {
        Ok(text) => {
            // A number in front of a figurine is a move number.
            let text = match text.trim_start_matches(|c: char| c.is_ascii_digit()) {
                rest if rest.starts_with(is_figurine) => rest,
                _ => text,
            };
            for c in text.chars() {
                plain.extend_from_slice(plain_letter(c)?);
            }
        }
        // Code page 1252 has dashes at 0x96 and 0x97 and a half at 0xbd.
        Err(_) => {
            for &byte in word {
                match byte {
                    0x96 | 0x97 => plain.push(b'-'),
                    0xbd => plain.extend_from_slice(b"1/2"),
                    _ if byte.is_ascii() => plain.push(byte),
                    _ => return None,
                }
            }
        }
    }
    Some(plain)
}

fn is_figurine(c: char) -> bool {
    ('\u{2654}'..='\u{265f}').contains(&c)
}

fn plain_letter(c: char) -> Option<&'static [u8]> {
    const ASCII: [u8; 128] = {
        let mut ascii = [0; 128];
        let mut i = 0;
        while i < 128 {
            ascii[i] = i as u8;
            i += 1;
        }
        ascii
    };
    Some(match c {
        '♔' | '♚' => b"K",
        '♕' | '♛' => b"Q",
        '♖' | '♜' => b"R",
        '♗' | '♝' => b"B",
        '♘' | '♞' => b"N",
        // A pawn, and the signs that choose between text and picture.
        '♙' | '♟' | '\u{fe0e}' | '\u{fe0f}' => b"",
        // Hyphens, dashes and the minus sign.
        '\u{2010}'..='\u{2015}' | '\u{2212}' => b"-",
        '½' => b"1/2",
        _ if c.is_ascii() => &ASCII[c as usize..=c as usize],
        _ => return None,
    })
}

/// A pawn's capture with `e.p.` or `ep` behind it: the capture, and where its sign ends in `text`.
/// `read` is the word that stands at `start..end`.
fn en_passant(read: &[u8], text: &[u8], start: usize, end: usize) -> Option<(Vec<u8>, usize)> {
    let length = capture_length(read)?;
    let behind = match &read[length..] {
        b"" | b"+" | b"#" => {
            let blanks = text[end..]
                .iter()
                .take_while(|byte| byte.is_ascii_whitespace());
            end + blanks.count()
        }
        // The sign stands in the word itself, of which only a dash may have been left out.
        sign if sign.starts_with(b"e") => end - sign.len(),
        _ => return None,
    };
    if behind < start {
        return None;
    }
    let rest = &text[behind..];
    let sign = [b"e.p.".as_slice(), b"ep.", b"e.p", b"ep"]
        .into_iter()
        .find(|sign| rest.starts_with(sign))?;
    let mut sign_end = behind + sign.len();
    let mut capture = read[..length].to_vec();
    match text.get(sign_end) {
        Some(&check @ (b'+' | b'#')) => {
            capture.push(check);
            sign_end += 1;
        }
        _ => capture.extend(read.get(length).filter(|byte| matches!(byte, b'+' | b'#'))),
    }
    let ends = |byte: &u8| byte.is_ascii_whitespace() || b"{}()!?$;*".contains(byte);
    text.get(sign_end)
        .is_none_or(ends)
        .then_some((capture, sign_end))
}

/// Bytes of a pawn's capture on the row where pawns are taken in passing.
fn capture_length(read: &[u8]) -> Option<usize> {
    match read {
        [b'a'..=b'h', b'x', b'a'..=b'h', b'3' | b'6', ..] => Some(4),
        [b'a'..=b'h', b'4' | b'5', b'x', b'a'..=b'h', b'3' | b'6', ..] => Some(5),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn standard(text: &str) -> String {
        let text = text.as_bytes();
        let read = Standard::of(text, 0).map_or(text.to_vec(), |standard| standard.text);
        String::from_utf8(read).unwrap()
    }

    #[test]
    fn other_notations_are_read() {
        for (written, read) in [
            ("1. e8Q+ axb1N", "1. e8=Q+ axb1=N"),
            ("1. e7e8q a2a1n#", "1. e7e8=Q a2a1=N#"),
            ("1. Ng1-f3 e7-e5+ 2. e7-e8Q", "1. Ng1f3 e7e5+ 2. e7e8=Q"),
            ("1.♘f3 ♟e5 2.♞g1–f3 e8=♕", "1.Nf3 e5 2.Ng1f3 e8=Q"),
            ("1♗\u{fe0e}b5", "Bb5"),
            (
                "exd6 e.p. Nf6 exd6ep Nf6 exd6e.p.+ x",
                "exd6 Nf6 exd6 Nf6 exd6+ x",
            ),
            ("exd6 ep! exd6+ e.p. exd6 e.p", "exd6! exd6+ exd6"),
            ("1\u{2011}0 0\u{2212}1 ½\u{2010}½", "1-0 0-1 1/2-1/2"),
            ("O–O O—O—O", "O-O O-O-O"),
        ] {
            assert_eq!(standard(written), read, "{written}");
        }
        assert_eq!(
            Standard::of(b"1. e4 1\x960", 0).map(|standard| standard.text),
            Some(b"1. e4 1-0".to_vec())
        );
    }

    #[test]
    fn what_could_mean_something_else_stays() {
        for text in [
            "1. nf3 e8q bxc3 epee exd6 epaulette Nxd6 e.p. exd5 ep",
            "1. K\u{435}2 e4-e5-e6 Ng1- -f3 a8",
        ] {
            assert_eq!(standard(text), text);
        }
    }

    #[test]
    fn places_lead_back_to_the_text_as_it_was() {
        let text = "♘f3 e7e8q exd6 e.p. Ke2";
        let standard = Standard::of(text.as_bytes(), 0).unwrap();
        let words: Vec<_> = Words::new(&standard.text, 0)
            .map(|word| &text[standard.original(word.start)..])
            .collect();
        assert_eq!(words[0], text);
        assert!(words[1].starts_with("e7e8q") && words[2].starts_with("exd6 e.p."));
        assert_eq!(words[3], "Ke2");
    }
}
