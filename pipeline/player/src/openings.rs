//! Openings as deep as the player's games allow: by ECO code, and by first moves where a game has
//! none.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use shakmaty::uci::UciMove;
use shakmaty::{Chess, Color, Position, Role, Square};

/// Plies of a game by which its opening is known where it has no code.
pub const FIRST_PLIES: usize = 12;

/// How an opening is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
enum By {
    Eco,
    FirstMoves,
}

/// The opening of a game, or what the openings of many games have in common: the first signs of a
/// code, or the first moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Opening {
    by: By,
    /// Signs of the code, or moves as [`step`] has them; 0 behind the last.
    signs: [u16; FIRST_PLIES],
    length: usize,
}

/// A move as a number above 0: where it starts, where it ends and what it promotes to.
pub fn step(from: Square, to: Square, promotion: Option<Role>) -> u16 {
    let role = promotion.map_or(0, u16::from);
    role << 12 | u16::from(from) << 6 | u16::from(to)
}

impl Opening {
    /// The code that a tag's value begins with: a letter from A to E and up to two digits; `None`
    /// where that is not a code.
    pub fn of_eco(tag: &str) -> Option<Opening> {
        let mut signs = [0; FIRST_PLIES];
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
            signs[place] = sign.into();
            length += 1;
        }
        (length > 0).then_some(Opening {
            by: By::Eco,
            signs,
            length,
        })
    }

    /// The first moves of a game from the usual start, up to the first that is missing; `None`
    /// without any.
    pub fn of_moves(mut steps: [u16; FIRST_PLIES]) -> Option<Opening> {
        let length = steps.iter().take_while(|step| **step != 0).count();
        steps[length..].fill(0);
        (length > 0).then_some(Opening {
            by: By::FirstMoves,
            signs: steps,
            length,
        })
    }

    /// The opening up to so many signs; `None` where it is shorter.
    fn cut(self, length: usize) -> Option<Opening> {
        let mut signs = self.signs;
        signs[length..].fill(0);
        (length <= self.length).then_some(Opening {
            signs,
            length,
            ..self
        })
    }

    fn text(&self) -> String {
        let signs = &self.signs[..self.length];
        match self.by {
            By::Eco => {
                let signs = signs.iter().filter_map(|sign| u8::try_from(*sign).ok());
                format!("ECO {}", signs.map(char::from).collect::<String>())
            }
            By::FirstMoves => in_san(signs),
        }
    }
}

/// Moves from the usual start as `1. e4 e5 2. Nf3`, up to the first that is not legal.
fn in_san(steps: &[u16]) -> String {
    let mut position = Chess::default();
    let mut words = Vec::new();
    for step in steps {
        let square = |bits: u16| Square::new(u32::from(bits & 63));
        let uci = UciMove::Normal {
            from: square(step >> 6),
            to: square(*step),
            promotion: Role::try_from((step >> 12) as u8).ok(),
        };
        let Ok(played) = uci.to_move(&position) else {
            break;
        };
        if position.turn() == Color::White {
            words.push(format!("{}.", words.len() / 3 + 1));
        }
        let san = shakmaty::san::SanPlus::from_move_and_play_unchecked(&mut position, played);
        words.push(san.to_string());
    }
    words.join(" ")
}

/// The groups of openings that the player's games are parted into, each called by its place.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Openings {
    /// Sorted.
    groups: Vec<Opening>,
}

/// Games are parted into so many groups at most that have enough games each.
const MOST_GROUPS: u64 = 25;

impl Openings {
    /// Groups with so many games each, and with a 25th of all: the deepest first, and what is left
    /// by letter or by first move, whatever its number.
    pub fn of(games: impl Iterator<Item = Opening>, least: u64) -> Openings {
        let mut counts: BTreeMap<Opening, u64> = BTreeMap::new();
        for opening in games {
            *counts.entry(opening).or_default() += 1;
        }
        let least = least.max(counts.values().sum::<u64>().div_ceil(MOST_GROUPS));
        let mut groups = Vec::new();
        for length in (1..=FIRST_PLIES).rev() {
            let mut by_group: BTreeMap<Opening, u64> = BTreeMap::new();
            for (opening, games) in &counts {
                if let Some(group) = opening.cut(length) {
                    *by_group.entry(group).or_default() += games;
                }
            }
            by_group.retain(|_, games| length == 1 || *games >= least);
            counts.retain(|opening, _| {
                let group = opening.cut(length);
                group.is_none_or(|group| !by_group.contains_key(&group))
            });
            groups.extend(by_group.into_keys());
        }
        groups.sort_unstable();
        Openings { groups }
    }

    /// The group of an opening: the deepest there is.
    pub fn group(&self, opening: Opening) -> Option<usize> {
        let mut cuts = (1..=FIRST_PLIES)
            .rev()
            .filter_map(|length| opening.cut(length));
        cuts.find_map(|group| self.groups.binary_search(&group).ok())
    }

    /// Whether any group is of games with the same first moves.
    pub fn by_first_moves(&self) -> bool {
        self.groups.iter().any(|group| group.by == By::FirstMoves)
    }

    /// What a group is called: `ECO C45`, or `1. e4 e5, others` where a part of it stands apart.
    pub fn label(&self, group: usize) -> String {
        let group = &self.groups[group];
        let deeper =
            |one: &Opening| one.length > group.length && one.cut(group.length) == Some(*group);
        let others = if self.groups.iter().any(deeper) {
            ", others"
        } else {
            ""
        };
        format!("{}{others}", group.text())
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
            .flat_map(|(code, games)| vec![Opening::of_eco(code).unwrap(); *games]);
        let openings = Openings::of(games, 5);
        let of = |code: &str| {
            let group = openings.group(Opening::of_eco(code).unwrap());
            group.map(|group| openings.label(group))
        };
        assert_eq!(of("C45").as_deref(), Some("ECO C45"));
        assert_eq!(of("C49").as_deref(), Some("ECO C4, others"));
        assert_eq!(of("C10").as_deref(), Some("ECO C, others"));
        assert_eq!(of("E08").as_deref(), Some("ECO E0"));
        assert_eq!(of("A00"), None);
        assert_eq!((Opening::of_eco("?"), Opening::of_eco("F10")), (None, None));
    }

    fn moves(played: &str) -> Opening {
        let mut steps = [0; FIRST_PLIES];
        for (place, uci) in steps.iter_mut().zip(played.split(' ')) {
            let UciMove::Normal {
                from,
                to,
                promotion,
            } = uci.parse().unwrap()
            else {
                panic!("{uci}");
            };
            *place = step(from, to, promotion);
        }
        Opening::of_moves(steps).unwrap()
    }

    /// Castling and a promotion are among the moves; codes and moves are never mixed.
    #[test]
    fn first_moves_in_san() {
        let castled = moves("e2e4 e7e5 g1f3 b8c6 f1b5 g8f6 e1g1");
        let promoted = moves("a2a4 b7b5 a4b5 a7a6 b5a6 c8b7 a6b7 d7d6 b7a8q");
        let games = [
            (castled, 3),
            (moves("e2e4 e7e5 g1f3 g8f6"), 1),
            (promoted, 4),
        ];
        let games = games.iter().flat_map(|(one, number)| vec![*one; *number]);
        let openings = Openings::of(games.chain(Opening::of_eco("B20")), 3);
        let of = |one| openings.group(one).map(|group| openings.label(group));
        let label = of(castled);
        assert_eq!(
            label.as_deref(),
            Some("1. e4 e5 2. Nf3 Nc6 3. Bb5 Nf6 4. O-O")
        );
        assert_eq!(of(moves("e2e4 c7c5")).as_deref(), Some("1. e4, others"));
        assert_eq!(
            of(promoted).as_deref(),
            Some("1. a4 b5 2. axb5 a6 3. bxa6 Bb7 4. axb7 d6 5. bxa8=Q")
        );
        assert_eq!(of(moves("d2d4")), None);
        assert_eq!(
            of(Opening::of_eco("B01").unwrap()).as_deref(),
            Some("ECO B")
        );
    }

    /// However many games there are, there are few groups.
    #[test]
    fn not_too_many_groups() {
        let code = |number: usize| format!("{}{:02}", ["A", "B", "C"][number % 3], number % 100);
        let games = (0..30_000).map(|number| Opening::of_eco(&code(number)).unwrap());
        let openings = Openings::of(games, 20);
        assert!(openings.groups.len() <= 28, "{}", openings.groups.len());
    }
}
