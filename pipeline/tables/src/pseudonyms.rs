//! Players' names replaced by pseudonyms, with a key that the user keeps.
//!
//! A pseudonym is HMAC-SHA-256 (RFC 2104, FIPS 180-4) of the player key, so that the spellings of a
//! name have one pseudonym. Rows are made of it as of a name, and the game id too: a hash of the
//! name itself without a key could be found out by trying names.

use std::fmt;

use hmac::{Hmac, Mac as _};
use hobble_game::tags::{Tag, Tags};
use hobble_game::text::decode;
use hobble_terms::manifest::Pseudonyms;
use hobble_terms::names::{PlayerKeys, is_initial, words};
use sha2::Sha256;

/// Hexadecimal digits of a pseudonym: 64 bits, so that among a million players two with one
/// pseudonym are to be expected once in 37 million keys.
const DIGITS: usize = 16;

/// What the check of a key is made from; no player key has such a character.
const CHECK: &str = "\0";

/// Tags that may name a player beside the names themselves.
const FREE_TAGS: [Tag; 4] = [Tag::Event, Tag::Site, Tag::Round, Tag::Termination];

/// A key that pseudonyms are made with.
#[derive(Clone)]
pub struct PseudonymKey(Hmac<Sha256>);

impl fmt::Debug for PseudonymKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("PseudonymKey")
    }
}

impl PseudonymKey {
    /// Fewest bytes of a key.
    pub const LEAST_BYTES: usize = 16;

    /// A key of these bytes; `None` where they are fewer than [`PseudonymKey::LEAST_BYTES`].
    pub fn new(bytes: &[u8]) -> Option<PseudonymKey> {
        if bytes.len() < PseudonymKey::LEAST_BYTES {
            return None;
        }
        Hmac::new_from_slice(bytes).ok().map(PseudonymKey)
    }

    /// What the manifest says of the key: enough to know it again, nothing to make pseudonyms with.
    pub fn noted(&self) -> Pseudonyms {
        Pseudonyms {
            method: format!("HMAC-SHA-256, {DIGITS} digits"),
            key_check: self.of(CHECK),
        }
    }

    /// The pseudonym of a player key.
    pub fn of(&self, player_key: &str) -> String {
        let mut mac = self.0.clone();
        mac.update(player_key.as_bytes());
        let digest = mac.finalize().into_bytes();
        let digits = digest.iter().map(|byte| format!("{byte:02x}"));
        digits.take(DIGITS / 2).collect()
    }

    /// Replaces the players' names in a game's tags. Event, Site, Round and Termination are
    /// dropped where they hold a word of either name, initials aside, in the genitive too, or an
    /// address on the web, which leads to the names.
    pub fn replace(&self, tags: &mut Tags, keys: &mut PlayerKeys) {
        let names = [Tag::White, Tag::Black].map(|tag| {
            let name = tags.known(tag).map(decode);
            name.map_or_else(String::new, |(name, _)| name.into_owned())
        });
        let written_out = |name: &String| words(name).into_iter().filter(|word| !is_initial(word));
        let named: Vec<String> = names.iter().flat_map(written_out).collect();
        for tag in FREE_TAGS {
            let Some((text, _)) = tags.known(tag).map(decode) else {
                continue;
            };
            let is_name = |word: &String| {
                let genitive = |name: &String| word.strip_suffix('s') == Some(name);
                named.contains(word) || named.iter().any(genitive)
            };
            if is_address(&text) || words(&text).iter().any(is_name) {
                tags.replace(tag, b"");
            }
        }
        for (tag, name) in [Tag::White, Tag::Black].into_iter().zip(&names) {
            let pseudonym = keys.of(name).map(|key| self.of(key)).unwrap_or_default();
            tags.replace(tag, pseudonym.as_bytes());
        }
    }
}

/// Whether a text holds an address on the web: `://`, `www.`, or a word with a dot before a slash.
fn is_address(text: &str) -> bool {
    let text = text.to_ascii_lowercase();
    let has_page = |word: &str| {
        let host = word.split_once('/').map(|(host, _)| host);
        host.is_some_and(|host| host.contains('.'))
    };
    text.contains("://") || text.contains("www.") || text.split_whitespace().any(has_page)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key() -> PseudonymKey {
        PseudonymKey::new(&[0x0b; 20]).unwrap()
    }

    fn tags(values: &[(Tag, &str)]) -> Tags {
        let mut tags = Tags::default();
        for (tag, value) in values {
            tags.set(*tag, value.as_bytes());
        }
        tags
    }

    /// RFC 4231, section 4.2 (test case 1).
    #[test]
    fn pseudonym_is_the_published_keyed_hash() {
        assert_eq!(key().of("Hi There"), "b0344c61d8db3853");
    }

    #[test]
    fn short_keys_are_refused() {
        assert!(PseudonymKey::new(&[1; 15]).is_none());
        assert!(PseudonymKey::new(b"").is_none());
        assert!(PseudonymKey::new(&[1; 16]).is_some());
    }

    #[test]
    fn spellings_agree_and_missing_names_stay_missing() {
        let mut keys = PlayerKeys::default();
        let mut first = tags(&[(Tag::White, "Cobble, Nan"), (Tag::Black, "?")]);
        let mut second = tags(&[(Tag::White, "NAN Cobble"), (Tag::Black, "...")]);
        key().replace(&mut first, &mut keys);
        key().replace(&mut second, &mut keys);
        assert_eq!(first.raw(Tag::White), second.raw(Tag::White));
        assert_eq!(first.raw(Tag::White).len(), DIGITS);
        assert_eq!(first.known(Tag::Black), None);
        assert_eq!(second.known(Tag::Black), None);
        // A pseudonym is its own player key.
        let text = std::str::from_utf8(first.raw(Tag::White)).unwrap();
        assert_eq!(keys.of(text), Some(text));
        let other = PseudonymKey::new(&[0x0c; 20]).unwrap();
        assert_ne!(other.of("cobble nan"), key().of("cobble nan"));
    }

    #[test]
    fn tags_that_name_a_player_or_an_address_are_dropped() {
        let kept = |tag: Tag, text: &str| {
            let mut tags = tags(&[
                (Tag::White, "Cobble, N. Ann"),
                (Tag::Black, "O'Dell"),
                (tag, text),
            ]);
            key().replace(&mut tags, &mut PlayerKeys::default());
            tags.known(tag).is_some()
        };
        for text in ["ODELL won on time", "Match Cobble v. Dale", "Ann's day"] {
            assert!(!kept(Tag::Termination, text), "{text}");
            assert!(!kept(Tag::Event, text), "{text}");
        }
        for text in [
            "https://games.example/7",
            "www.games.example",
            "games.example/7",
        ] {
            assert!(!kept(Tag::Site, text), "{text}");
        }
        for text in ["Tarn", "Tarn, N. Hall", "St.Agnes", "3.2", "1/2", "Cobbler"] {
            assert!(kept(Tag::Site, text), "{text}");
            assert!(kept(Tag::Round, text), "{text}");
        }
        assert!(kept(Tag::Date, "2031.05.04"));
        assert!(kept(Tag::WhiteTitle, "WIM"));
    }
}
