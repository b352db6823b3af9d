//! Figures and groups in words, the same in every rendering.

use std::collections::BTreeMap;

use crate::answer::Interval;
use crate::terms::{Key, Outcome};

/// A share in percent, with one digit after the point; small ones with two.
pub fn percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent > 0.0 && percent < 0.005 {
        "under 0.01%".to_owned()
    } else if percent != 0.0 && percent < 0.995 {
        format!("{percent:.2}%")
    } else {
        format!("{percent:.1}%")
    }
}

/// Digits after the point that an interval of percentages asks for: one, and two or three
/// where it is narrow.
pub fn percent_digits(interval: Option<Interval>) -> usize {
    match interval.map(|interval| (interval.high - interval.low) * 100.0) {
        Some(width) if width < 0.1 => 3,
        Some(width) if width < 1.0 => 2,
        _ => 1,
    }
}

/// Digits after the point that the interval of a ratio asks for: two, or three where it is
/// narrow.
pub fn ratio_digits(interval: Option<Interval>) -> usize {
    match interval.map(|interval| interval.high - interval.low) {
        Some(width) if width < 0.1 => 3,
        _ => 2,
    }
}

/// A whole number with commas between thousands, as `1,234,567`.
pub fn count(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// `1 game`, `2 games`.
pub fn counted(number: u64, noun: &str) -> String {
    let s = if number == 1 { "" } else { "s" };
    format!("{} {noun}{s}", count(number))
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
        Key::Developed => yes_no("developed"),
    }
}

/// `a, b and c`.
pub fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
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
    fn numbers() {
        assert_eq!(percent(0.0421), "4.2%");
        assert_eq!(percent(0.00421), "0.42%");
        assert_eq!(percent(0.0), "0.0%");
        assert_eq!(percent(0.00999), "1.0%");
        assert_eq!(percent(0.000_001), "under 0.01%");
        assert_eq!(count(0), "0");
        assert_eq!(count(999), "999");
        assert_eq!(count(1_000), "1,000");
        assert_eq!(count(12_345_678), "12,345,678");
        assert_eq!(counted(1, "turn"), "1 turn");
        assert_eq!(counted(2, "turn"), "2 turns");
    }

    #[test]
    fn digits_follow_the_interval() {
        let interval = |low, high| {
            Some(Interval {
                low,
                high,
                se: None,
                df: None,
            })
        };
        assert_eq!(percent_digits(None), 1);
        assert_eq!(percent_digits(interval(0.10, 0.12)), 1);
        assert_eq!(percent_digits(interval(0.101, 0.105)), 2);
        assert_eq!(percent_digits(interval(0.1010, 0.1015)), 3);
        assert_eq!(ratio_digits(interval(1.0004, 1.02)), 3);
        assert_eq!(ratio_digits(interval(1.1, 1.3)), 2);
    }

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
        assert_eq!(list(&["a".into(), "b".into(), "c".into()]), "a, b and c");
    }
}
