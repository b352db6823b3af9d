//! Bytes of an archive as text.

use std::borrow::Cow;

/// Text of a tag value: UTF-8 where it is valid, else Latin-1 with control bytes replaced
/// by U+FFFD. The flag is true where it was not UTF-8.
pub fn decode(bytes: &[u8]) -> (Cow<'_, str>, bool) {
    match std::str::from_utf8(bytes) {
        Ok(text) => (Cow::Borrowed(text), false),
        Err(_) => {
            let text = bytes
                .iter()
                .map(|&byte| match byte {
                    0..=0x1f | 0x7f..=0x9f => char::REPLACEMENT_CHARACTER,
                    _ => char::from(byte),
                })
                .collect();
            (Cow::Owned(text), true)
        }
    }
}

/// Bytes of an archive as text that is safe to print: one line, no control characters or marks
/// that change the direction of writing, at most 40 characters.
pub fn shown(bytes: &[u8]) -> String {
    const MOST: usize = 40;
    let (text, _) = decode(bytes);
    let mut shown: String = text
        .chars()
        .take(MOST)
        .map(|c| if is_printable(c) { c } else { '\u{fffd}' })
        .collect();
    if text.chars().nth(MOST).is_some() {
        shown.push('…');
    }
    shown
}

/// Whether a character can be printed as it is.
pub fn is_printable(c: char) -> bool {
    !c.is_control()
        && !matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn latin_1_and_stray_bytes_are_kept() {
        assert_eq!(decode("Müller".as_bytes()), ("Müller".into(), false));
        assert_eq!(decode(b"M\xfcller"), ("Müller".into(), true));
        assert_eq!(decode(b"M\x81ller"), ("M\u{fffd}ller".into(), true));
    }

    #[test]
    fn characters_that_steer_a_terminal_are_replaced() {
        assert_eq!(shown(b"\x1b[31mred\x07"), "\u{fffd}[31mred\u{fffd}");
        assert_eq!(shown("a\u{202e}b".as_bytes()), "a\u{fffd}b");
        assert_eq!(shown(&[b'x'; 100]).chars().count(), 41);
    }
}
