//! Figures and groups in words, the same in every rendering.

use std::collections::BTreeMap;

use hobble_report::number;
pub use hobble_report::number::{capital, count, counted, list, percent};

use hobble_report::sections::bounds;
use hobble_statistics::Interval;

use crate::circumstances::NOT_THERE;
use crate::terms::{Key, Outcome, YesNo};

/// Digits after the point that an interval of percentages asks for.
pub fn percent_digits(interval: Option<Interval>) -> usize {
    number::percent_digits(bounds(interval))
}

/// Digits after the point that the interval of a ratio asks for.
pub fn ratio_digits(interval: Option<Interval>) -> usize {
    number::ratio_digits(bounds(interval))
}

/// In which words a sentence is put.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wording {
    /// Those of the JSON and the PGN, which stay as they are.
    Kept,
    /// Those of text and pages.
    Reader,
}

/// What lost means, in a sentence without its stop (definitions, section 7).
pub const LOST: &str = "captured in a run of captures that cost its owner two pawns\u{2019} worth or more, and nothing as dear was taken for it";

/// What the pieces of a question are: `restrained`, or held in general.
pub fn state(restrained: YesNo) -> &'static str {
    match restrained {
        YesNo::Yes => "restrained",
        YesNo::Any | YesNo::No => "held",
    }
}

/// What happened, after `was`.
pub fn happened(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Lost => "lost",
        Outcome::Captured => "captured",
        Outcome::Traded => "traded",
        Outcome::Sold => "sold for more than its value",
    }
}

/// A group in words: `knight`, or `knight, endgame, rated 1400-1599`.
pub fn label(order: &[Key], group: &BTreeMap<Key, String>) -> String {
    let words: Vec<String> = order
        .iter()
        .filter_map(|&key| group.get(&key).map(|value| value_in_words(key, value)))
        .collect();
    words.join(", ")
}

/// One value of a key in words.
pub fn value_in_words(key: Key, value: &str) -> String {
    let yes_no = |word: &str| match value {
        "yes" => word.to_owned(),
        _ => format!("not {word}"),
    };
    match key {
        Key::Kind | Key::Phase => value.to_owned(),
        Key::Band => match value {
            "unrated" => "unrated".to_owned(),
            "missing" => "rating missing".to_owned(),
            bounds => format!("rated {bounds}"),
        },
        Key::TimeClass => match value {
            "unknown" => "time class unknown".to_owned(),
            class => class.to_owned(),
        },
        Key::RatingDiff => format!("rating difference {value}"),
        Key::Attacked => yes_no("attacked"),
        Key::Defended => yes_no("defended"),
        Key::Move => format!("moves {value}"),
        Key::Balance => match value {
            "level" => "material level".to_owned(),
            value => value.to_owned(),
        },
        Key::SquaresBefore => match value {
            NOT_THERE => "not on the board two turns before".to_owned(),
            squares => format!("{squares} safe squares two turns before"),
        },
        Key::OthersHeld => format!("{value} other pieces held"),
    }
}

/// The number of a word among those seen, of a new one the next; for a few different words.
pub fn number(seen: &mut Vec<String>, word: &str) -> usize {
    let found = seen.iter().position(|other| other == word);
    found.unwrap_or_else(|| {
        seen.push(word.to_owned());
        seen.len() - 1
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups() {
        let group = BTreeMap::from([
            (Key::Kind, "knight".to_owned()),
            (Key::Band, "1400-1599".to_owned()),
            (Key::Attacked, "no".to_owned()),
        ]);
        let order = [Key::Band, Key::Kind, Key::Attacked];
        assert_eq!(
            label(&order, &group),
            "rated 1400-1599, knight, not attacked"
        );
    }
}
