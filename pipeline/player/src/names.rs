//! When two spellings mean one player.
//!
//! Spellings agree where they are equal after folding case, white space, punctuation and
//! accents, and turning "Last, First" into "First Last". Initials never agree with a name
//! written out: they may be somebody else's, so they are offered, not taken.

use std::collections::{BTreeMap, BTreeSet};

use hobble_terms::names::words;

/// Most spellings offered where a name is not found.
pub const OFFERED: usize = 5;

/// Least likeness (Jaro-Winkler) of a spelling that is offered.
const ALIKE: f64 = 0.85;

/// What all spellings that agree have in common; empty for a name without letters.
pub fn key(name: &str) -> String {
    let mut parts = name.split(',');
    let (first, second, more) = (parts.next(), parts.next(), parts.next());
    let words = match (first, second, more) {
        (Some(last), Some(given), None) => {
            let mut words = words(given);
            words.extend(self::words(last));
            words
        }
        _ => words(name),
    };
    words.join(" ")
}

/// Whether two keys may mean one player though they differ: the same words but for some that
/// are shortened to their first letters, or left out in the middle.
fn initials(a: &str, b: &str) -> bool {
    let (a, b): (Vec<&str>, Vec<&str>) = (a.split(' ').collect(), b.split(' ').collect());
    let short = |a: &str, b: &str| {
        a == b
            || (a.chars().count() == 1 && b.starts_with(a))
            || (b.chars().count() == 1 && a.starts_with(b))
    };
    match (a.as_slice(), b.as_slice()) {
        ([first_a, .., last_a], [first_b, .., last_b]) => {
            last_a == last_b && short(first_a, first_b)
        }
        _ => false,
    }
}

/// How like two keys are, from 0 to 1.
fn likeness(a: &str, b: &str) -> f64 {
    let sorted = |key: &str| {
        let mut words: Vec<&str> = key.split(' ').collect();
        words.sort_unstable();
        words.join(" ")
    };
    let (words_a, words_b): (BTreeSet<&str>, BTreeSet<&str>) =
        (a.split(' ').collect(), b.split(' ').collect());
    if words_a.is_subset(&words_b) || words_b.is_subset(&words_a) {
        return 0.99;
    }
    // A name given in part: each of its words with the most similar of the other's.
    let found: Vec<f64> = words_a
        .iter()
        .map(|a| {
            words_b
                .iter()
                .map(|b| strsim::jaro_winkler(a, b))
                .fold(0.0, f64::max)
        })
        .collect();
    let in_part = found.iter().sum::<f64>() / found.len().max(1) as f64 * 0.98;
    strsim::jaro_winkler(a, b)
        .max(strsim::jaro_winkler(&sorted(a), &sorted(b)))
        .max(in_part)
        .max(if initials(a, b) { 0.95 } else { 0.0 })
}

/// Spellings like a name, most similar first, then those with most games.
pub fn offers(name: &str, spellings: &BTreeMap<String, u64>) -> Vec<(String, u64)> {
    let wanted = key(name);
    if wanted.is_empty() {
        return Vec::new();
    }
    let mut alike: Vec<(f64, &String, u64)> = spellings
        .iter()
        .map(|(spelling, games)| (likeness(&wanted, &key(spelling)), spelling, *games))
        .filter(|(likeness, ..)| *likeness >= ALIKE)
        .collect();
    alike.sort_by(|a, b| {
        b.0.total_cmp(&a.0)
            .then_with(|| b.2.cmp(&a.2))
            .then_with(|| a.1.cmp(b.1))
    });
    alike
        .into_iter()
        .take(OFFERED)
        .map(|(_, spelling, games)| (spelling.clone(), games))
        .collect()
}

/// Spellings that may be the player's by their initials, and are not counted; `key_of` gives
/// the key of each.
pub fn uncounted<'a>(
    keys: &BTreeSet<String>,
    spellings: &BTreeMap<String, u64>,
    key_of: impl Fn(&str) -> &'a str,
) -> Vec<(String, u64)> {
    spellings
        .iter()
        .filter(|(spelling, _)| {
            let one = key_of(spelling);
            !keys.contains(one) && keys.iter().any(|key| initials(key, one))
        })
        .map(|(spelling, games)| (spelling.clone(), *games))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_that_agree() {
        let one = key("Vey, Ada");
        for spelling in [
            "Ada Vey",
            "VEY,ADA",
            " vey ,  ada ",
            "Áda  Vęy",
            "Vey,Ada.",
            "ada-vey",
        ] {
            assert_eq!(key(spelling), one, "{spelling}");
        }
        assert_eq!(key("Ørskimmel, Thóra"), key("Thora Orskimmel"));
        assert_eq!(key("O'Dell, Jo"), key("Jo ODell"));
        assert_eq!(key("Weiß"), key("WEISS"));
        // A decomposed accent is the same letter.
        assert_eq!(key("Tho\u{301}ra"), key("Th\u{f3}ra"));
        // More than one comma: no order is guessed.
        assert_eq!(key("Vey, Ada, Jr."), "vey ada jr");
        assert_eq!(key("?!"), "");
    }

    #[test]
    fn spellings_that_do_not() {
        let one = key("Vey, Ada");
        for spelling in ["Vey, A.", "Vey, Adam", "Vey", "Vey Ada", "Veyl, Ada"] {
            assert_ne!(key(spelling), one, "{spelling}");
        }
    }

    fn spellings() -> BTreeMap<String, u64> {
        [
            ("Vey, A", 3),
            ("Vey, Ada", 20),
            ("Vey, Bo", 9),
            ("Quill, Ansel", 50),
            ("Vay, Ada", 2),
        ]
        .map(|(name, games)| (name.to_owned(), games))
        .into()
    }

    #[test]
    fn offers_the_most_similar_first() {
        let names = |wanted: &str| -> Vec<String> {
            offers(wanted, &spellings())
                .into_iter()
                .map(|(name, _)| name)
                .collect()
        };
        assert_eq!(names("A. Vey")[..2], ["Vey, A", "Vey, Ada"]);
        assert_eq!(names("Vey")[..2], ["Vey, Ada", "Vey, Bo"]);
        assert_eq!(names("Adda Vey")[0], "Vey, Ada");
        assert_eq!(names("Quil"), ["Quill, Ansel"]);
        assert_eq!(names("Zzz"), Vec::<String>::new());
        assert_eq!(names("..."), Vec::<String>::new());
    }

    #[test]
    fn initials_are_offered_and_not_counted() {
        let keys = BTreeSet::from([key("Ada Vey")]);
        let known: BTreeMap<String, String> = spellings()
            .into_keys()
            .map(|name| (name.clone(), key(&name)))
            .collect();
        assert_eq!(
            uncounted(&keys, &spellings(), |name| &known[name]),
            [("Vey, A".to_owned(), 3)]
        );
    }
}
