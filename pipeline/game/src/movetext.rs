//! A plain look at the tokens of a movetext.
//!
//! The reader passes over what it cannot read without a word. To lose no broken game, the
//! words that ought to be moves are counted here as well; where the counts differ, the
//! offending word is looked for.

use shakmaty::CastlingSide;
use shakmaty::san::San;

use crate::skip::{Reason, Skip};

/// Ends a word.
const END: u8 = 1;
/// A word of digits begins here: a number, a result or castling with zeros.
const DIGIT: u8 = 2;
/// Blank or punctuation without a meaning here.
const VOID: u8 = 4;

/// Class of each byte.
static CLASS: [u8; 256] = {
    let mut class = [0; 256];
    let blank = b" \t\n\r.";
    let mut i = 0;
    while i < blank.len() {
        class[blank[i] as usize] = END | VOID;
        i += 1;
    }
    let end = b"{}()!?$;*";
    i = 0;
    while i < end.len() {
        class[end[i] as usize] = END;
        i += 1;
    }
    i = b'0' as usize;
    while i <= b'9' as usize {
        class[i] = DIGIT;
        i += 1;
    }
    class
};

/// A word that ought to be a move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Word {
    /// First byte in the text.
    pub start: usize,
    /// Byte after the last.
    pub end: usize,
}

/// What a movetext ends in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Close {
    /// Everything opened was closed.
    Clean,
    /// A comment that began at this byte was not.
    Comment(usize),
    /// A variation that began at this byte was not.
    Variation(usize),
}

/// Walks over the words of the main line that ought to be moves: all but numbers, results,
/// annotations, comments and variations. Calls `word` with each and whether a result came
/// before it.
pub fn walk(text: &[u8], from: usize, mut word: impl FnMut(Word, bool)) -> Close {
    let mut at = from;
    let mut depth = 0_usize;
    let mut opened = 0;
    let mut result = false;
    while let Some(&byte) = text.get(at) {
        let class = CLASS[byte as usize];
        if class == 0 || class == DIGIT {
            if byte == b'%' && (at == 0 || text[at - 1] == b'\n') {
                at = line_end(text, at);
                continue;
            }
            let end = at
                + text[at..]
                    .iter()
                    .position(|&byte| CLASS[byte as usize] & END != 0)
                    .unwrap_or(text.len() - at);
            if depth == 0 {
                if class == 0 && byte != 0xc2 {
                    word(Word { start: at, end }, result);
                } else {
                    digits(text, at, end, &mut result, &mut word);
                }
            }
            at = end;
            continue;
        }
        if class & VOID == 0 {
            match byte {
                b'{' => match memchr::memchr(b'}', &text[at..]) {
                    Some(length) => at += length,
                    None => return Close::Comment(at),
                },
                b';' => {
                    at = line_end(text, at);
                    continue;
                }
                b'(' => {
                    if depth == 0 {
                        opened = at;
                    }
                    depth += 1;
                }
                // Closed without having been opened: nobody can say where it began.
                b')' if depth == 0 => word(
                    Word {
                        start: at,
                        end: at + 1,
                    },
                    result,
                ),
                b')' => depth -= 1,
                b'*' if depth == 0 => result = true,
                b'$' => {
                    let length = text[at + 1..]
                        .iter()
                        .position(|&byte| CLASS[byte as usize] & END != 0)
                        .unwrap_or(text.len() - at - 1);
                    at += length;
                }
                _ => {}
            }
        }
        at += 1;
    }
    if depth > 0 {
        Close::Variation(opened)
    } else {
        Close::Clean
    }
}

fn line_end(text: &[u8], at: usize) -> usize {
    memchr::memchr(b'\n', &text[at..]).map_or(text.len(), |length| at + length)
}

/// A word that begins with a digit (or ½): a move number, perhaps with a move right
/// behind it, a result, or castling with zeros.
fn digits(
    text: &[u8],
    start: usize,
    end: usize,
    result: &mut bool,
    word: &mut impl FnMut(Word, bool),
) {
    let own = &text[start..end];
    match own {
        b"1-0" | b"0-1" | b"1/2-1/2" => *result = true,
        _ if own.iter().all(u8::is_ascii_digit) => {}
        _ if own.starts_with(b"0-0") => word(Word { start, end }, *result),
        _ if own.starts_with("½".as_bytes()) || own.contains(&0xe2) => {
            // Typographic results, as the reader takes them.
            match std::str::from_utf8(own) {
                Ok(
                    "½-½" | "½–½" | "½—½" | "1–0" | "1—0" | "0–1" | "0—1" | "1/2–1/2" | "1/2—1/2",
                ) => {
                    *result = true;
                }
                _ => word(Word { start, end }, *result),
            }
        }
        _ => {
            let number = own.iter().take_while(|byte| byte.is_ascii_digit()).count();
            word(
                Word {
                    start: start + number,
                    end,
                },
                *result,
            );
        }
    }
}

/// Whether the words that ought to be moves are exactly these moves, and all is closed.
pub fn agrees(text: &[u8], from: usize, moves: &[San]) -> bool {
    let mut rest = moves.iter();
    let mut same = true;
    let close = walk(text, from, |word, after_result| {
        let san = read_word(&text[word.start..word.end]);
        same &= !after_result && san.is_some() && san.as_ref() == rest.next();
    });
    same && close == Close::Clean && rest.next().is_none()
}

/// The move a word says, castling with zeros included.
fn read_word(word: &[u8]) -> Option<San> {
    match San::from_ascii(word) {
        Ok(san) => Some(san),
        Err(_) => match word
            .strip_suffix(b"+")
            .or(word.strip_suffix(b"#"))
            .unwrap_or(word)
        {
            b"0-0" => Some(San::Castle(CastlingSide::KingSide)),
            b"0-0-0" => Some(San::Castle(CastlingSide::QueenSide)),
            _ => None,
        },
    }
}

/// The `nth` word that ought to be a move, from 0.
pub fn nth_word(text: &[u8], from: usize, nth: usize) -> Option<Word> {
    let mut seen = 0;
    let mut found = None;
    walk(text, from, |word, _| {
        if seen == nth {
            found = Some(word);
        }
        seen += 1;
    });
    found
}

/// What is wrong with a movetext whose words and moves do not agree.
pub fn explain(text: &[u8], from: usize) -> Skip {
    let mut found = None;
    let close = walk(text, from, |word, after_result| {
        let own = &text[word.start..word.end];
        if found.is_none() && (after_result || read_word(own).is_none()) {
            found = Some(Skip::at(Reason::UnreadableToken, word.start, own));
        }
    });
    match (found, close) {
        (_, Close::Comment(at)) => Skip::at(Reason::UnclosedComment, at, line_of(text, at)),
        (Some(skip), _) => skip,
        (None, Close::Variation(at)) => Skip::at(Reason::UnreadableToken, at, line_of(text, at)),
        (None, Close::Clean) => Skip::whole(Reason::UnreadableToken),
    }
}

/// The rest of the line at a byte, without the blanks around it.
pub fn line_of(text: &[u8], at: usize) -> &[u8] {
    let at = at.min(text.len());
    text[at..line_end(text, at)].trim_ascii()
}

/// Writes promotions the standard way where the sign was left out (`e8Q` for `e8=Q`);
/// `None` where there are none.
pub fn with_promotion_signs(text: &[u8], from: usize) -> Option<Vec<u8>> {
    let mut signs = Vec::new();
    walk(text, from, |word, _| {
        let own = &text[word.start..word.end];
        let bare = own
            .strip_suffix(b"+")
            .or(own.strip_suffix(b"#"))
            .unwrap_or(own);
        if let [.., b'a'..=b'h', b'1' | b'8', b'N' | b'B' | b'R' | b'Q'] = bare
            && matches!(own[0], b'a'..=b'h')
        {
            signs.push(word.start + bare.len() - 1);
        }
    });
    if signs.is_empty() {
        return None;
    }
    let mut mended = text.to_vec();
    for &at in signs.iter().rev() {
        mended.insert(at, b'=');
    }
    Some(mended)
}

/// The first tag line of the tag section that opens a quote and does not close it.
pub fn unclosed_tag(text: &[u8]) -> Option<usize> {
    let mut at = 0;
    let end = begin(text);
    while at < end {
        let line = &text[at..line_end(text, at)];
        if !line.ends_with(b"\"]") && is_unclosed(line.trim_ascii()) {
            return Some(at);
        }
        at += line.len() + 1;
    }
    None
}

fn is_unclosed(line: &[u8]) -> bool {
    if !line.starts_with(b"[") || line.ends_with(b"\"]") {
        return false;
    }
    let Some(open) = memchr::memchr(b'"', line) else {
        // A name alone, neither quoted nor closed, is a tag cut off.
        return !line.contains(&b']');
    };
    let mut escaped = false;
    for &byte in &line[open + 1..] {
        match byte {
            _ if escaped => escaped = false,
            b'\\' => escaped = true,
            b'"' => return false,
            _ => {}
        }
    }
    true
}

/// Start of the line of a tag, 0 where it is not found.
pub fn tag_line(text: &[u8], name: &str) -> usize {
    let mut at = 0;
    let end = begin(text);
    while at < end {
        let line = &text[at..line_end(text, at)];
        let rest = line
            .strip_prefix(b"[")
            .and_then(|rest| rest.strip_prefix(name.as_bytes()));
        if rest.is_some_and(|rest| {
            rest.first()
                .is_some_and(|&byte| byte == b' ' || byte == b'\t' || byte == b'"')
        }) {
            return at;
        }
        at += line.len() + 1;
    }
    0
}

/// Where the movetext begins: behind the last tag, blank and escaped lines passed over.
pub fn begin(text: &[u8]) -> usize {
    let mut at = 0;
    if text.starts_with(b"\xef\xbb\xbf") {
        at = 3;
    }
    while at < text.len() {
        let end = line_end(text, at);
        let line = text[at..end].trim_ascii();
        if line.starts_with(b"[") {
            if !line.ends_with(b"]")
                && let Some(behind) = behind_tag(line)
            {
                // Something follows in the line of the tag.
                let indent = text[at..end].iter().position(|&byte| byte == b'[');
                at += indent.unwrap_or(0) + behind;
                if text[at] != b'[' {
                    return at;
                }
                continue;
            }
        } else if !(line.is_empty() || line.starts_with(b"%")) {
            return at;
        }
        at = end + 1;
    }
    text.len()
}

/// Where in a line that starts with a tag something else follows it.
fn behind_tag(line: &[u8]) -> Option<usize> {
    let quote = memchr::memchr(b'"', line)?;
    let mut escaped = false;
    let close = line[quote + 1..].iter().position(|&byte| {
        let closes = byte == b'"' && !escaped;
        escaped = byte == b'\\' && !escaped;
        closes
    })?;
    let after = quote + 1 + close + 1;
    let blanks = line[after..]
        .iter()
        .position(|&byte| !matches!(byte, b' ' | b'\t' | b']'))?;
    Some(after + blanks)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<&str> {
        let mut words = Vec::new();
        walk(text.as_bytes(), 0, |word, _| {
            words.push(&text[word.start..word.end])
        });
        words
    }

    #[test]
    fn moves_among_everything_else() {
        let text = "1.e4 {a ( b} e5!? $14 (1... c5 (2. Nf3 {)} d6)) 2. Nf3 ; rest ( \n\
                    %escaped Nc3\n2... Nc6 3.O-O 0-0-0+ 12e8=Q ½-½ *";
        assert_eq!(
            words(text),
            ["e4", "e5", "Nf3", "Nc6", "O-O", "0-0-0+", "e8=Q"]
        );
    }

    #[test]
    fn junk_is_counted() {
        assert_eq!(words("1. e4 @@ e5 blah 1-0"), ["e4", "@@", "e5", "blah"]);
        let skip = explain(b"1. e4 e5\n2. Nf3 e9 1-0", 0);
        assert_eq!((skip.reason, skip.at), (Reason::UnreadableToken, 16));
        assert_eq!(skip.words, "e9");
    }

    #[test]
    fn what_stays_open_is_told() {
        assert_eq!(walk(b"1. e4 { x", 0, |_, _| ()), Close::Comment(6));
        assert_eq!(walk(b"1. e4 ( x (y)", 0, |_, _| ()), Close::Variation(6));
        assert_eq!(
            explain(b"1. e4 e5 1-0 2. d4", 0).words,
            "d4",
            "a move after the result"
        );
    }

    #[test]
    fn movetext_begins_after_the_tags() {
        let text = b"\xef\xbb\xbf[Event \"x\"]\r\n\r\n%e\r\n1. e4 *";
        assert_eq!(&text[begin(text)..], b"1. e4 *");
    }
}
