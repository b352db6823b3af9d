//! Parts of PGN text: tags, comments, lines. Written after the PGN standard's export format
//! (section 3.2; cited from memory): lines of 80 characters at most.

use std::fmt::Write as _;

/// Longest line in characters.
const WIDTH: usize = 79;

/// Adds a tag; control characters become blanks.
pub fn tag(out: &mut String, name: &str, value: &str) {
    let value: String = value
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let value = value.replace('\\', "\\\\").replace('"', "\\\"");
    let _ = writeln!(out, "[{name} \"{value}\"]");
}

/// Adds a comment word by word; a brace would end it early, a bracket may be taken for a command.
pub fn comment(words: &mut Vec<String>, text: &str) {
    let text: String = text
        .chars()
        .map(|c| match c {
            '{' | '[' => '(',
            '}' | ']' => ')',
            c if c.is_control() => ' ',
            c => c,
        })
        .collect();
    let mut inner: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
    if let Some(first) = inner.first_mut() {
        first.insert(0, '{');
    }
    if let Some(last) = inner.last_mut() {
        last.push('}');
    }
    words.extend(inner);
}

/// Adds words, broken into lines, and the empty line behind a game.
pub fn wrap(out: &mut String, words: &[String]) {
    let mut width = 0;
    for word in words {
        let length = word.chars().count();
        if width > 0 && width + 1 + length > WIDTH {
            out.push('\n');
            width = 0;
        }
        if width > 0 {
            out.push(' ');
            width += 1;
        }
        out.push_str(word);
        width += length;
    }
    out.push_str("\n\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_comments_and_lines() {
        let mut out = String::new();
        tag(&mut out, "White", "Cobble, \"Nan\" \\ Sons\n");
        assert_eq!(out, "[White \"Cobble, \\\"Nan\\\" \\\\ Sons \"]\n");
        let mut words = vec!["1.".to_owned()];
        comment(&mut words, "a } brace, a [ bracket");
        assert_eq!(words.join(" "), "1. {a ) brace, a ( bracket}");
        let mut out = String::new();
        wrap(&mut out, &vec!["word".to_owned(); 20]);
        let lines: Vec<usize> = out.lines().map(str::len).collect();
        assert_eq!(lines, [16 * 5 - 1, 4 * 5 - 1, 0]);
    }
}
