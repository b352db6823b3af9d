//! The words of a player's name.

use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

/// The words of a name in small letters: accents are left out, an apostrophe parts no word,
/// whatever else is neither letter nor digit does.
pub fn words(text: &str) -> Vec<String> {
    let mut folded = String::with_capacity(text.len());
    for c in text.nfkd().filter(|c| !is_combining_mark(*c)) {
        for c in c.to_lowercase().filter(|c| !is_combining_mark(*c)) {
            match c {
                // Letters of their own that no decomposition takes apart.
                'ø' => folded.push('o'),
                'ł' => folded.push('l'),
                'đ' | 'ð' => folded.push('d'),
                'ħ' => folded.push('h'),
                'ı' => folded.push('i'),
                'ß' => folded.push_str("ss"),
                'æ' => folded.push_str("ae"),
                'œ' => folded.push_str("oe"),
                'þ' => folded.push_str("th"),
                // O'Dell, ODell.
                '\'' | '\u{2019}' | '\u{2bc}' | '`' | '\u{b4}' => {}
                c if c.is_alphanumeric() => folded.push(c),
                _ => folded.push(' '),
            }
        }
    }
    folded.split_whitespace().map(str::to_owned).collect()
}

/// The words of a name without regard to their order, as a key of the player; `None` where the name
/// has no word.
pub fn in_any_order(name: &str) -> Option<String> {
    let mut words = words(name);
    words.sort_unstable();
    (!words.is_empty()).then(|| words.join(" "))
}

/// Whether a word is the first letter of a name.
pub fn is_initial(word: &str) -> bool {
    word.chars().count() == 1
}

/// The surname of a name of these words, of which there is at least one (definitions, section 11):
/// before a comma, or else the last word that is no initial; of several words the longest.
pub fn surname(name: &str, all: &[String]) -> String {
    let before_comma = name.split_once(',').map(|(before, _)| words(before));
    let written_out = |words: &[String]| {
        let longest = words.iter().max_by_key(|word| word.chars().count());
        longest.cloned()
    };
    let last = || all.iter().rev().find(|word| !is_initial(word)).cloned();
    before_comma
        .and_then(|words| written_out(&words))
        .or_else(last)
        .or_else(|| all.last().cloned())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_in_small_letters_without_accents() {
        assert_eq!(words("Žďárek,  Łuc"), ["zdarek", "luc"]);
        assert_eq!(words("O'Dell-Müller, J."), ["odell", "muller", "j"]);
        assert!(words(" ?-. ").is_empty());
        assert_eq!(in_any_order("Cobble, Nan"), in_any_order("NAN Cobble"));
        assert_eq!(in_any_order("?"), None);
    }
}
