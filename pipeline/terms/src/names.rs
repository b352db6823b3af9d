//! Players' names: the words of a name, and the key that its spellings share.

use std::ops::Range;

use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

/// The words of a name in small letters: accents are left out, an apostrophe parts no word,
/// whatever else is neither letter nor digit does.
pub fn words(text: &str) -> Vec<String> {
    let mut folded = String::with_capacity(text.len());
    fold_letters(text, &mut folded);
    folded.split_whitespace().map(str::to_owned).collect()
}

/// Adds a name in small letters, its words parted by blanks.
fn fold_letters(text: &str, folded: &mut String) {
    if text.is_ascii() {
        let kept = text.bytes().filter(|byte| !matches!(byte, b'\'' | b'`'));
        folded.extend(kept.map(|byte| match byte {
            byte if byte.is_ascii_alphanumeric() => char::from(byte.to_ascii_lowercase()),
            _ => ' ',
        }));
        return;
    }
    // An acute accent by itself is an apostrophe; its decomposition would part the word.
    let text = text.chars().filter(|c| *c != '\u{b4}');
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
                '\'' | '\u{2019}' | '\u{2bc}' | '`' => {}
                c if c.is_alphanumeric() => folded.push(c),
                _ => folded.push(' '),
            }
        }
    }
}

/// Makes keys of players, keeping its buffers (definitions, section 9).
#[derive(Debug, Default)]
pub struct PlayerKeys {
    folded: String,
    /// Where the words stand in `folded`.
    places: Vec<Range<usize>>,
    key: String,
}

impl PlayerKeys {
    /// The key that all spellings of a player's name share: its words in the order of their
    /// bytes, a blank between them; `None` where the name has no word. An initial is a word like
    /// any other, so that it never shares a key with a name written out.
    pub fn of(&mut self, name: &str) -> Option<&str> {
        self.folded.clear();
        self.places.clear();
        self.key.clear();
        fold_letters(name, &mut self.folded);
        let mut at = 0;
        for word in self.folded.split(' ') {
            if !word.is_empty() {
                self.places.push(at..at + word.len());
            }
            // Only blanks stand between words: one byte each.
            at += word.len() + 1;
        }
        let folded = &self.folded;
        self.places
            .sort_unstable_by(|a, b| folded[a.clone()].cmp(&folded[b.clone()]));
        for place in &self.places {
            if !self.key.is_empty() {
                self.key.push(' ');
            }
            self.key.push_str(&folded[place.clone()]);
        }
        (!self.key.is_empty()).then_some(self.key.as_str())
    }
}

/// The key of one player: [`PlayerKeys::of`], with buffers of its own.
pub fn player_key(name: &str) -> Option<String> {
    PlayerKeys::default().of(name).map(str::to_owned)
}

/// Whether a word is the first letter of a name.
pub fn is_initial(word: &str) -> bool {
    word.chars().count() == 1
}

/// The surname of a name of these words, of which there is at least one (definitions, section 11):
/// before a comma, or else the last word that is not an initial; of several words the longest.
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
    }

    #[test]
    fn spellings_of_one_name_share_a_key() {
        let one = player_key("Cobble, Nan");
        assert_eq!(one.as_deref(), Some("cobble nan"));
        for spelling in [
            "NAN Cobble",
            "Cobble,Nan",
            "Cobble Nan",
            " cobble ,  nan. ",
            "Cobble, N\u{e1}n",
            "Cobble, Na\u{301}n",
            "Cobble\u{a0}Nan",
        ] {
            assert_eq!(player_key(spelling), one, "{spelling}");
        }
        for other in ["Cobble, N.", "Cobble", "Cobble, Nan B.", "Cobbel, Nan"] {
            assert_ne!(player_key(other), one, "{other}");
        }
        assert_eq!(player_key("N. Cobble"), player_key("Cobble,N"));
        assert_eq!(
            player_key("\u{d8}rskimmel, Th\u{f3}ra"),
            player_key("Thora Orskimmel")
        );
        for spelling in [
            "O\'Dell, Jo",
            "O\u{2019}Dell, Jo",
            "O\u{b4}Dell, Jo",
            "ODell Jo",
        ] {
            assert_eq!(
                player_key(spelling).as_deref(),
                Some("jo odell"),
                "{spelling}"
            );
        }
        assert_eq!(player_key("?"), None);
        assert_eq!(player_key(""), None);
    }

    /// The quick way for ASCII gives what the way for all letters gives.
    #[test]
    fn ascii_is_folded_as_all_letters_are() {
        for byte in 0..128_u8 {
            let text = format!("a{}B", char::from(byte));
            let other = format!("\u{e9} {text}");
            let mut all = words(&other);
            assert_eq!(all.remove(0), "e");
            assert_eq!(words(&text), all, "{byte}");
        }
    }

    /// Buffers that are kept do not mix names.
    #[test]
    fn keys_one_after_the_other() {
        let mut keys = PlayerKeys::default();
        for name in ["Burdock, Ulf", "?", "Z\u{ed}, \u{c6}", "A"] {
            assert_eq!(keys.of(name).map(str::to_owned), player_key(name), "{name}");
        }
        assert_eq!(keys.of("Z\u{ed}, \u{c6}"), Some("ae zi"));
    }
}
