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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_in_small_letters_without_accents() {
        assert_eq!(words("Žďárek,  Łuc"), ["zdarek", "luc"]);
        assert_eq!(words("O'Dell-Müller, J."), ["odell", "muller", "j"]);
        assert!(words(" ?-. ").is_empty());
    }
}
