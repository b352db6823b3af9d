//! Numbers, names and lines as a reader likes them.

use std::io::{Write as _, stderr};

use hobble_game::text::is_printable;

/// A count in groups of three: 11,264,836 reads better than 11264836.
pub fn grouped(n: u64) -> String {
    let digits = n.to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// `1 game`, `2 games`.
pub fn counted(n: u64, one: &str) -> String {
    if n == 1 {
        format!("1 {one}")
    } else {
        format!("{} {one}s", grouped(n))
    }
}

/// A line fit for a terminal, whatever stands in the names of files: one line, nothing that
/// steers a terminal or turns the direction of writing.
pub fn line(text: &str) -> String {
    text.chars()
        .map(|c| if is_printable(c) { c } else { '\u{fffd}' })
        .collect()
}

/// Prints a line beside the output. A terminal that has gone is no reason to stop.
pub fn say(text: &str) {
    let _ = writeln!(stderr(), "{}", line(text));
}

/// Two archives are one: nothing forbids it, nobody means it.
pub fn same_bytes(file: &str, as_file: &str) -> String {
    format!("{file}: the same bytes as {as_file}; its games now count twice")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_files_stay_in_their_line() {
        assert_eq!(
            line("a\nb\u{1b}[2J\u{202e}"),
            "a\u{fffd}b\u{fffd}[2J\u{fffd}"
        );
    }

    #[test]
    fn groups_of_three() {
        assert_eq!(grouped(0), "0");
        assert_eq!(grouped(999), "999");
        assert_eq!(grouped(11_264_836), "11,264,836");
    }
}
