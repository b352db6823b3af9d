//! Numbers and short lists in words, the same in every rendering.

use hobble_statistics::Bounds;
pub use hobble_terms::number::{count, counted};

/// A small whole number as a word, a larger one in digits.
pub fn small(number: u64) -> String {
    const WORDS: [&str; 10] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
    ];
    usize::try_from(number)
        .ok()
        .and_then(|index| WORDS.get(index))
        .map_or_else(|| count(number), |word| (*word).to_owned())
}

/// A share in percent, with one digit after the point; small ones with two.
pub fn percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent > 0.0 && percent < 0.005 {
        "under 0.01%".to_owned()
    } else {
        format!("{percent:.*}%", share_digits(share))
    }
}

/// Digits after the point of a share in percent: two below 1%, else one.
pub fn share_digits(share: f64) -> usize {
    let percent = share.abs() * 100.0;
    if percent != 0.0 && percent < 0.995 {
        2
    } else {
        1
    }
}

/// Digits after the point that an interval of shares in percent asks for: one, and two or
/// three where it is narrow.
pub fn percent_digits(interval: Option<Bounds>) -> usize {
    match interval.map(|interval| (interval.high - interval.low) * 100.0) {
        Some(width) if width < 0.1 => 3,
        Some(width) if width < 1.0 => 2,
        _ => 1,
    }
}

/// Digits after the point that the interval of a ratio asks for: two, or three where it is
/// narrow.
pub fn ratio_digits(interval: Option<Bounds>) -> usize {
    match interval.map(|interval| interval.high - interval.low) {
        Some(width) if width < 0.1 => 3,
        _ => 2,
    }
}

/// A number with its sign; a number that shows as zero has none, and minus is U+2212.
pub fn signed(number: f64, digits: usize) -> String {
    let text = format!("{:.digits$}", number.abs());
    let zero = text.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    match (zero, number < 0.0) {
        (true, _) => text,
        (false, true) => format!("\u{2212}{text}"),
        (false, false) => format!("+{text}"),
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

/// The text with its first letter a capital.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

/// `no safe square`, `one safe square at most`, `two safe squares at most`.
pub fn at_most(number: u64, noun: &str) -> String {
    match number {
        0 => format!("no {noun}"),
        1 => format!("one {noun} at most"),
        more => format!("{} {noun}s at most", small(more)),
    }
}

/// `one turn at least`, `two turns at least`.
pub fn at_least(number: u64, noun: &str) -> String {
    let s = if number == 1 { "" } else { "s" };
    format!("{} {noun}{s} at least", small(number))
}

/// A p-value with as many digits as matter.
///
/// ```
/// assert_eq!(hobble_report::number::p_in_words(0.0414), "0.041");
/// ```
pub fn p_in_words(p: f64) -> String {
    if p < 0.001 {
        "below 0.001".to_owned()
    } else {
        format!("{p:.3}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_shares_get_more_digits() {
        assert_eq!(percent(0.0421), "4.2%");
        assert_eq!(percent(0.00421), "0.42%");
        assert_eq!(percent(0.0), "0.0%");
        assert_eq!(percent(0.00999), "1.0%");
        assert_eq!(percent(0.000_001), "under 0.01%");
    }

    #[test]
    fn digits_follow_the_interval() {
        let bounds = |low, high| Some(Bounds { low, high });
        assert_eq!(percent_digits(None), 1);
        assert_eq!(percent_digits(bounds(0.10, 0.12)), 1);
        assert_eq!(percent_digits(bounds(0.101, 0.105)), 2);
        assert_eq!(percent_digits(bounds(0.1010, 0.1015)), 3);
        assert_eq!(ratio_digits(bounds(1.0004, 1.02)), 3);
        assert_eq!(ratio_digits(bounds(1.1, 1.3)), 2);
    }

    #[test]
    fn signs_and_lists() {
        assert_eq!(signed(2.04, 1), "+2.0");
        assert_eq!(signed(-0.31, 1), "\u{2212}0.3");
        assert_eq!(signed(-0.01, 1), "0.0");
        assert_eq!(list(&["a".into(), "b".into(), "c".into()]), "a, b and c");
        assert_eq!((small(2), small(14)), ("two".into(), "14".into()));
        assert_eq!(capital("knight, endgame"), "Knight, endgame");
        assert_eq!(at_most(1, "safe square"), "one safe square at most");
        assert_eq!(at_most(0, "safe square"), "no safe square");
        assert_eq!(at_least(1, "turn"), "one turn at least");
        assert_eq!(at_least(3, "turn"), "three turns at least");
    }
}
