//! Words and figures as a page shows them.

use hobble_questions::answer::Interval;

/// Longest text taken from an archive, in characters; a longer one is cut and marked.
const LONGEST: usize = 300;

/// Text with what could disturb a page made harmless: control characters and characters
/// that turn the direction of writing become U+FFFD, line breaks and tabs a space; cut
/// after 300 characters.
///
/// Escaping for HTML is apart ([`escape`], or the template's own).
pub fn plain(text: &str) -> String {
    let mut plain: String = text.chars().take(LONGEST).map(harmless).collect();
    if text.chars().nth(LONGEST).is_some() {
        plain.push('…');
    }
    plain
}

/// [`plain`] for text written for the reader, which may be of any length.
pub fn plain_long(text: &str) -> String {
    text.chars().map(harmless).collect()
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

/// Text escaped for HTML and SVG, in an element or in an attribute between double quotes.
pub fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '&' => escaped.push_str("&amp;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            c => escaped.push(c),
        }
    }
    escaped
}

/// A whole number with its digits in threes: `11,264,836`.
pub fn count(number: u64) -> String {
    let digits = number.to_string();
    let mut grouped = String::with_capacity(digits.len() + digits.len() / 3);
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    grouped
}

/// Decimals of a percentage of this size: two below 1%, else one, as in the verdicts.
pub fn decimals(fraction: f64) -> usize {
    let percent = fraction.abs() * 100.0;
    if percent != 0.0 && percent < 0.995 {
        2
    } else {
        1
    }
}

/// A fraction in percent: `4.1%`.
pub fn percent(fraction: f64, decimals: usize) -> String {
    format!("{:.decimals$}%", fraction * 100.0)
}

/// Bounds of fractions in percent: `3.2 to 5.2%`.
pub fn percent_interval(interval: &Interval, decimals: usize) -> String {
    format!(
        "{:.decimals$} to {:.decimals$}%",
        interval.low * 100.0,
        interval.high * 100.0
    )
}

/// A difference of fractions in percentage points, with its sign: `+2.0`, `−0.3`.
pub fn points(difference: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", difference.abs() * 100.0);
    let zero = text.bytes().all(|b| matches!(b, b'0' | b'.'));
    match (zero, difference < 0.0) {
        (true, _) => text,
        (false, true) => format!("−{text}"),
        (false, false) => format!("+{text}"),
    }
}

/// Bounds of a difference in percentage points: `+1.1 to +2.9`.
pub fn points_interval(interval: &Interval, decimals: usize) -> String {
    format!(
        "{} to {}",
        points(interval.low, decimals),
        points(interval.high, decimals)
    )
}

/// A ratio: `1.93`, `12.4`, `0.85`.
pub fn ratio(ratio: f64) -> String {
    if ratio < 9.995 {
        format!("{ratio:.2}")
    } else if ratio < 99.95 {
        format!("{ratio:.1}")
    } else {
        format!("{ratio:.0}")
    }
}

/// Bounds of a ratio: `1.52 to 2.41`.
pub fn ratio_interval(interval: &Interval) -> String {
    format!("{} to {}", ratio(interval.low), ratio(interval.high))
}

/// The text with its first letter a capital.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

/// A list in words: `a`, `a and b`, `a, b and c`.
pub fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [before @ .., last] => format!("{} and {last}", before.join(", ")),
    }
}

/// Plies as moves, in halves: `3`, `3½`, `½`.
pub fn moves(plies: u32) -> String {
    match (plies / 2, plies % 2) {
        (whole, 0) => whole.to_string(),
        (0, _) => "½".to_owned(),
        (whole, _) => format!("{whole}½"),
    }
}

/// A small whole number as a word, a larger one in digits.
pub fn small(number: u64) -> String {
    const WORDS: [&str; 10] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
    ];
    usize::try_from(number)
        .ok()
        .and_then(|i| WORDS.get(i))
        .map_or_else(|| count(number), |word| (*word).to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_text_is_made_harmless() {
        assert_eq!(plain("a\u{202e}b\u{2066}c\u{0}d\u{9b}e"), "a�b�c�d�e");
        assert_eq!(plain("two\r\nlines\tand\u{2028}one"), "two  lines and one");
        assert_eq!(plain("Ωmega Ćwik 王"), "Ωmega Ćwik 王");
        let long = plain(&"x".repeat(1000));
        assert_eq!(long.chars().count(), 301);
        assert!(long.ends_with('…'));
        assert_eq!(plain(&"x".repeat(300)), "x".repeat(300));
        assert_eq!(
            escape("<b a=\"1\" c='2'>&"),
            "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;"
        );
    }

    #[test]
    fn figures_are_written_as_a_reader_expects() {
        assert_eq!(count(0), "0");
        assert_eq!(count(999), "999");
        assert_eq!(count(1000), "1,000");
        assert_eq!(count(11_264_836), "11,264,836");
        assert_eq!(percent(0.0412, decimals(0.0412)), "4.1%");
        assert_eq!(percent(0.0031, decimals(0.0031)), "0.31%");
        assert_eq!(percent(0.009_99, decimals(0.009_99)), "1.0%");
        assert_eq!(percent(0.0, decimals(0.0)), "0.0%");
        assert_eq!(points(0.02, 1), "+2.0");
        assert_eq!(points(-0.003, 1), "−0.3");
        assert_eq!(points(-0.000_001, 1), "0.0");
        assert_eq!(ratio(1.934), "1.93");
        assert_eq!(ratio(12.44), "12.4");
        assert_eq!(moves(7), "3½");
        assert_eq!(moves(1), "½");
        assert_eq!(moves(6), "3");
        assert_eq!(small(2), "two");
        assert_eq!(small(14), "14");
        assert_eq!(list(&["a".into(), "b".into(), "c".into()]), "a, b and c");
        assert_eq!(capital("knight, endgame"), "Knight, endgame");
    }
}
