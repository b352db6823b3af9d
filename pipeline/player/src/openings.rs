//! Openings by ECO code, as deep as the player's games allow.

use std::collections::{BTreeMap, BTreeSet};

/// A code, or the beginning of one: a letter from A to E and up to two digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Eco {
    signs: [u8; 3],
    length: usize,
}

impl Eco {
    /// The code that a tag's value begins with; `None` where that is no code.
    pub fn read(tag: &str) -> Option<Eco> {
        let mut signs = [0; 3];
        let mut length = 0;
        for (place, sign) in tag.bytes().take(3).enumerate() {
            let sign = sign.to_ascii_uppercase();
            let right = match place {
                0 => (b'A'..=b'E').contains(&sign),
                _ => sign.is_ascii_digit(),
            };
            if !right {
                break;
            }
            signs[place] = sign;
            length += 1;
        }
        (length > 0).then_some(Eco { signs, length })
    }

    /// The code up to so many signs; `None` where it is shorter.
    fn cut(self, length: usize) -> Option<Eco> {
        let mut signs = self.signs;
        signs[length..].fill(0);
        (length <= self.length).then_some(Eco { signs, length })
    }

    fn text(self) -> String {
        String::from_utf8_lossy(&self.signs[..self.length]).into_owned()
    }
}

/// The groups of openings that the player's games are parted into.
#[derive(Debug, Default)]
pub struct Openings {
    groups: BTreeSet<Eco>,
}

impl Openings {
    /// Groups with so many games each: whole codes first, of the rest letter and digit, and what
    /// is left by letter, whatever its number.
    pub fn of(games: impl Iterator<Item = Eco>, least: u64) -> Openings {
        let mut counts: BTreeMap<Eco, u64> = BTreeMap::new();
        for code in games {
            *counts.entry(code).or_default() += 1;
        }
        let mut groups = BTreeSet::new();
        for length in [3, 2, 1] {
            let mut by_group: BTreeMap<Eco, u64> = BTreeMap::new();
            for (code, games) in &counts {
                if let Some(group) = code.cut(length) {
                    *by_group.entry(group).or_default() += games;
                }
            }
            by_group.retain(|_, games| length == 1 || *games >= least.max(1));
            counts.retain(|code, _| {
                let group = code.cut(length);
                group.is_none_or(|group| !by_group.contains_key(&group))
            });
            groups.extend(by_group.into_keys());
        }
        Openings { groups }
    }

    /// The group of a code: the deepest there is.
    pub fn group(&self, code: Eco) -> Option<Eco> {
        let cuts = [3, 2, 1].into_iter().filter_map(|length| code.cut(length));
        cuts.into_iter().find(|group| self.groups.contains(group))
    }

    /// What a group is called: `ECO C45`, or `ECO C4, others` where a part of it stands apart.
    pub fn label(&self, group: Eco) -> String {
        let deeper = |one: &Eco| one.length > group.length && one.cut(group.length) == Some(group);
        let others = if self.groups.iter().any(deeper) {
            ", others"
        } else {
            ""
        };
        format!("ECO {}{others}", group.text())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_deep_as_the_games_allow() {
        let codes = [
            ("C45", 5),
            ("C44", 2),
            ("C42", 3),
            ("C10", 1),
            ("c", 1),
            ("E0x", 6),
        ];
        let games = codes
            .iter()
            .flat_map(|(code, games)| vec![Eco::read(code).unwrap(); *games]);
        let openings = Openings::of(games, 5);
        let of = |code: &str| {
            let group = openings.group(Eco::read(code).unwrap());
            group.map(|group| openings.label(group))
        };
        assert_eq!(of("C45").as_deref(), Some("ECO C45"));
        assert_eq!(of("C49").as_deref(), Some("ECO C4, others"));
        assert_eq!(of("C10").as_deref(), Some("ECO C, others"));
        assert_eq!(of("E08").as_deref(), Some("ECO E0"));
        assert_eq!(of("A00"), None);
        assert_eq!((Eco::read("?"), Eco::read("F10")), (None, None));
    }
}
