//! Text made harmless: archives, question files and manifests may hold anything.

/// Longest text taken from an archive, in characters; a longer one is cut and marked.
const LONGEST: usize = 300;

/// Text with line breaks and tabs turned into spaces, and control characters and characters
/// that turn the direction of writing or cannot be seen into U+FFFD.
///
/// ```
/// assert_eq!(hobble_report::plain("a\u{202e}b\nc"), "a\u{fffd}b c");
/// ```
pub fn plain(text: &str) -> String {
    text.chars().map(harmless).collect()
}

/// [`plain`] for a name or label from an archive: cut after 300 characters.
pub fn plain_short(text: &str) -> String {
    let mut plain: String = text.chars().take(LONGEST).map(harmless).collect();
    if text.chars().nth(LONGEST).is_some() {
        plain.push('\u{2026}');
    }
    plain
}

/// Paragraphs of a text, which empty lines part.
pub fn paragraphs(text: &str) -> Vec<String> {
    text.replace("\r\n", "\n")
        .split("\n\n")
        .map(|paragraph| {
            let lines: Vec<&str> = paragraph
                .lines()
                .map(str::trim)
                .filter(|line| !line.is_empty())
                .collect();
            lines.join(" ")
        })
        .filter(|paragraph| !paragraph.is_empty())
        .collect()
}

fn harmless(c: char) -> char {
    match c {
        '\n' | '\r' | '\t' | '\u{2028}' | '\u{2029}' => ' ',
        // Marks, embeddings and isolates of direction, invisible fillers, the byte order
        // mark, tags. The joiners U+200C and U+200D stay: Persian and Indic names need them.
        '\u{61c}'
        | '\u{200b}'
        | '\u{200e}'
        | '\u{200f}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}'
        | '\u{feff}'
        | '\u{fff9}'..='\u{fffb}'
        | '\u{e0000}'..='\u{e007f}' => char::REPLACEMENT_CHARACTER,
        c if c.is_control() => char::REPLACEMENT_CHARACTER,
        c => c,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_text_is_made_harmless() {
        assert_eq!(
            plain("a\u{202e}b\u{2066}c\u{0}d\u{9b}e"),
            "a\u{fffd}b\u{fffd}c\u{fffd}d\u{fffd}e"
        );
        assert_eq!(plain("two\r\nlines\tand\u{2028}one"), "two  lines and one");
        assert_eq!(
            plain("\u{3a9}mega \u{106}wik \u{738b}"),
            "\u{3a9}mega \u{106}wik \u{738b}"
        );
        let long = plain_short(&"x".repeat(1000));
        assert_eq!(long.chars().count(), 301);
        assert!(long.ends_with('\u{2026}'));
        assert_eq!(plain_short(&"x".repeat(300)), "x".repeat(300));
    }

    #[test]
    fn empty_lines_part_paragraphs() {
        assert_eq!(paragraphs("a\nb\r\n\r\nc\n\n\n"), ["a b", "c"]);
    }
}
