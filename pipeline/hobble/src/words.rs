//! Numbers, names and lines as a reader likes them.

use std::io::{Write as _, stderr};
use std::path::Path;

use hobble_dataset::Dataset;
use hobble_game::text::is_printable;
pub use hobble_report::number::{count as grouped, counted};

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

/// Says where a scan is not complete, and what that means for what was asked of its folder.
pub fn say_unfinished(dataset: &Dataset, folder: &Path, meaning: &str) {
    if !dataset.complete() {
        let folder = folder.display();
        say(&format!("{folder}: its scan is not complete; {meaning}"));
    }
}

/// Two archives are the same: allowed, but hardly meant.
pub fn same_bytes(file: &str, as_file: &str) -> String {
    format!("{file}: the same bytes as {as_file}; its games now count twice")
}

/// Two archives are one, and the games of the second are left out.
pub fn left_out(file: &str, as_file: &str) -> String {
    format!("{file}: the same bytes as {as_file}; its games are left out as repeats")
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
}
