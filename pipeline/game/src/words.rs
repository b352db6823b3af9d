//! The words of a movetext that should be moves.
//!
//! pgn-reader passes over a word that it cannot read without a call to the visitor. This scanner
//! finds the words but reads none of them: it knows where a word ends, and what is a number, a
//! result, an annotation, a comment or a variation. [`check`](crate::check) compares its words
//! with the moves that pgn-reader has read.

use std::ops::Range;

/// Results as pgn-reader takes them, beside `*`.
#[rustfmt::skip]
pub(crate) const RESULTS: [&str; 12] = [
    "1-0", "0-1", "1/2-1/2", "½-½", "1–0", "0–1", "1/2–1/2", "½–½", "1—0", "0—1", "1/2—1/2", "½—½",
];

/// Places of the words in the main line that should be moves; a `)` that closes nothing is such
/// a word too.
#[derive(Clone, Debug)]
pub struct Words<'a> {
    text: &'a [u8],
    at: usize,
    /// Variations that are open.
    depth: usize,
    /// Where a comment begins that is not closed.
    pub open_comment: Option<usize>,
    /// Where the outermost variation begins that is open.
    pub open_variation: Option<usize>,
    /// Whether a result of the game was passed.
    pub ended: bool,
    /// Whether a word, be it in a variation, may have led pgn-reader to take what follows for
    /// a tag or an escaped line.
    pub left: bool,
}

impl<'a> Words<'a> {
    /// The words of the movetext that begins at a byte of a game's text.
    pub fn new(text: &'a [u8], from: usize) -> Words<'a> {
        Words {
            text,
            at: from,
            depth: 0,
            open_comment: None,
            open_variation: None,
            ended: false,
            left: false,
        }
    }

    #[inline]
    fn word_end(&self, start: usize) -> usize {
        self.text[start..]
            .iter()
            .position(|&byte| ENDS_WORD[usize::from(byte)])
            .map_or(self.text.len(), |length| start + length)
    }

    /// Goes past what the byte before begins, if it begins something; whether it is a `)`
    /// that closes nothing.
    #[inline]
    fn sign(&mut self, byte: u8) -> bool {
        match byte {
            b'{' => match memchr::memchr(b'}', &self.text[self.at..]) {
                Some(length) => self.at += length + 1,
                None => {
                    self.open_comment = Some(self.at - 1);
                    self.at = self.text.len();
                }
            },
            b';' => self.at = line_end(self.text, self.at),
            b'$' => self.at = self.word_end(self.at),
            b'(' => {
                self.open_variation.get_or_insert(self.at - 1);
                self.depth += 1;
            }
            b'*' => self.ended |= self.depth == 0,
            b')' if self.depth == 0 => return true,
            b')' => {
                self.depth -= 1;
                if self.depth == 0 {
                    self.open_variation = None;
                }
            }
            _ => {}
        }
        false
    }
}

impl Iterator for Words<'_> {
    type Item = Range<usize>;

    #[inline]
    fn next(&mut self) -> Option<Range<usize>> {
        loop {
            let start = self.at;
            let byte = *self.text.get(start)?;
            if ENDS_WORD[usize::from(byte)] {
                self.at += 1;
                if self.sign(byte) {
                    return Some(start..self.at);
                }
                continue;
            }
            if byte == b'%' && (start == 0 || self.text[start - 1] == b'\n') {
                self.at = line_end(self.text, start);
                continue;
            }
            self.at = self.word_end(start);
            let mut from = start;
            match byte {
                b'0'..=b'9' | 0xc2 => {
                    let (length, is_result) = no_move(&self.text[start..self.at]);
                    from += length;
                    self.ended |= is_result && self.depth == 0;
                }
                // The last: a byte order mark.
                b'[' | b'%' | 0xef => self.left = true,
                _ => {}
            }
            if self.depth == 0 && from < self.at {
                return Some(from..self.at);
            }
        }
    }
}

/// Bytes that end a word for pgn-reader.
static ENDS_WORD: [bool; 256] = {
    let mut ends = [false; 256];
    let bytes = b" \t\n\r.{}()!?$;*";
    let mut i = 0;
    while i < bytes.len() {
        ends[bytes[i] as usize] = true;
        i += 1;
    }
    ends
};

/// Bytes at the start of a word that are not part of a move: a move number, or all of a result;
/// and whether it is a result.
fn no_move(word: &[u8]) -> (usize, bool) {
    let digits = word.iter().take_while(|byte| byte.is_ascii_digit()).count();
    if digits == word.len() {
        return (digits, false);
    }
    if RESULTS.iter().any(|result| result.as_bytes() == word) {
        return (word.len(), true);
    }
    let number = if word.starts_with(b"0-0") || !word.is_ascii() {
        // Castling with zeros; no move has a byte beyond ASCII.
        0
    } else {
        digits
    };
    (number, false)
}

/// End of the line at a byte, its line break left out.
pub(crate) fn line_end(text: &[u8], at: usize) -> usize {
    memchr::memchr(b'\n', &text[at..]).map_or(text.len(), |length| at + length)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<&str> {
        Words::new(text.as_bytes(), 0)
            .map(|word| &text[word])
            .collect()
    }

    /// Places of the comment and the variation that are open at the end.
    fn open(text: &str) -> (Option<usize>, Option<usize>) {
        let mut words = Words::new(text.as_bytes(), 0);
        words.by_ref().for_each(drop);
        (words.open_comment, words.open_variation)
    }

    #[test]
    fn moves_among_everything_else() {
        let text = "1.e4 {a ( b} e5!? $14 (1... c5 (2. Nf3 {)} d6)) 2. Nf3 ; rest ( \n\
                    %escaped Nc3\n2... Nc6 3.O-O 0-0-0+ 12e8=Q ½-½ 0—1 *";
        assert_eq!(
            words(text),
            ["e4", "e5", "Nf3", "Nc6", "O-O", "0-0-0+", "e8=Q"]
        );
    }

    #[test]
    fn words_that_are_no_moves_are_found_too() {
        assert_eq!(words("1. e4 @@ e5 blah 1-0"), ["e4", "@@", "e5", "blah"]);
        assert_eq!(
            words("e4 ) 1-0x 0–0 ½ 7%"),
            ["e4", ")", "-0x", "0–0", "½", "%"]
        );
    }

    #[test]
    fn open_comment_or_variation_has_a_place() {
        assert_eq!(open("1. e4 { x"), (Some(6), None));
        assert_eq!(open("1. e4 (c5) ( x (y)"), (None, Some(11)));
        assert_eq!(open("1. e4 ( x { y"), (Some(10), Some(6)));
        assert_eq!(open("1. e4 ( x (y)) {)}"), (None, None));
    }
}
