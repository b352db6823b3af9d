//! When two spellings mean one player.
//!
//! Spellings agree where they share the key of a player (definitions, section 9). Initials never
//! agree with a name written out: they may be somebody else's, so they are offered, not taken.

use std::collections::{BTreeMap, BTreeSet};

use hobble_terms::names::{is_initial, player_key};

/// Most spellings offered where a name is not found.
pub const OFFERED: usize = 5;

/// Least likeness (Jaro-Winkler) of a spelling that is offered.
const ALIKE: f64 = 0.85;

/// What all spellings that agree have in common; empty for a name without letters.
pub fn key(name: &str) -> String {
    player_key(name).unwrap_or_default()
}

/// Whether two keys may mean one player though they differ: each word of the one with fewer is a
/// word of the other, or one of the two is the other's first letter, and a word written out is
/// in both.
fn initials(a: &str, b: &str) -> bool {
    let (a, b): (Vec<&str>, Vec<&str>) = (a.split(' ').collect(), b.split(' ').collect());
    let (fewer, mut left) = if a.len() <= b.len() { (a, b) } else { (b, a) };
    if fewer.len() < 2 {
        return false;
    }
    let mut take = |is: &dyn Fn(&str) -> bool| {
        let at = left.iter().position(|word| is(word));
        at.map(|at| left.remove(at))
    };
    let (mut others, mut written_out) = (Vec::new(), false);
    for word in fewer {
        match take(&|other| other == word) {
            Some(_) => written_out |= !is_initial(word),
            None => others.push(word),
        }
    }
    let shortened = |short: &str, long: &str| is_initial(short) && long.starts_with(short);
    let all = others
        .into_iter()
        .all(|word| take(&|other| shortened(word, other) || shortened(other, word)).is_some());
    all && written_out
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

/// Whether a spelling is one of the player's, may be one by its initials or is offered where one is not
/// found; `keys` are those of the player's names.
pub fn is_like(keys: &[String], spelling: &str) -> bool {
    let one = key(spelling);
    let like = |wanted: &String| likeness(wanted, &one) >= ALIKE;
    keys.iter().any(like)
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
            "Vey Ada",
        ] {
            assert_eq!(key(spelling), one, "{spelling}");
        }
        assert_eq!(key("Ørskimmel, Thóra"), key("Thora Orskimmel"));
        assert_eq!(key("O'Dell, Jo"), key("Jo ODell"));
        assert_eq!(key("Weiß"), key("WEISS"));
        // A decomposed accent is the same letter.
        assert_eq!(key("Tho\u{301}ra"), key("Th\u{f3}ra"));
        assert_eq!(key("Vey, Ada, Jr."), key("Jr Ada Vey"));
        assert_eq!(key("?!"), "");
    }

    #[test]
    fn spellings_that_do_not() {
        let one = key("Vey, Ada");
        for spelling in ["Vey, A.", "Vey, Adam", "Vey", "Veyl, Ada"] {
            assert_ne!(key(spelling), one, "{spelling}");
        }
    }

    #[test]
    fn initials_of_a_name() {
        let fit = |a: &str, b: &str| initials(&key(a), &key(b));
        for (a, b) in [
            ("Vey, A", "Vey, Ada"),
            ("Vey, Ada", "A. Vey"),
            ("Vey, Ada Bo", "Vey, A. B."),
            ("Vey, Ada Bo", "Vey, A."),
            ("Vey, Ada Bo", "Vey, Ada"),
        ] {
            assert!(fit(a, b), "{a}, {b}");
        }
        for (a, b) in [
            ("Vey, A", "Vey, Bo"),
            ("Vey", "Vey, Ada"),
            ("Vey, A. B.", "Vey, Ada C."),
            ("Quill, A.", "Vey, Ada"),
            ("V. Ada", "Vey, A."),
        ] {
            assert!(!fit(a, b), "{a}, {b}");
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
