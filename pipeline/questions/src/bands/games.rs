//! The players of each game: what their side is split by, kept as one small number a side.

use std::collections::HashMap;

use crate::error::AskError;
use crate::words;
use hobble_dataset::Dataset;
use hobble_dataset::columns::{Read, Rows};
use hobble_dataset::part;
use hobble_terms::fold::fold;

/// Value of both sides' knights, bishops, rooks and queens at the usual start.
const USUAL_VALUE: i32 = 62;

/// Colours, by their number here.
pub const COLORS: [&str; 2] = ["white", "black"];

/// Levels of the split by ECO letter, by their number here.
pub const LETTERS: [&str; 6] = ["A", "B", "C", "D", "E", "none"];

/// What sides have in common that are counted together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Group {
    /// Number of the owner's band.
    pub band: u32,
    /// Number of the time class.
    pub time_class: u32,
    /// Number of the ECO letter.
    pub letter: u8,
    /// Fold of the game.
    pub fold: u8,
    /// Number of the colour.
    pub color: u8,
}

/// How a game starts, where it is not as usual.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Start {
    /// Value of both sides' pieces, as the phase counts it.
    pub value: i32,
    /// Whether Black has the first move.
    pub black_first: bool,
}

impl Default for Start {
    fn default() -> Self {
        Start {
            value: USUAL_VALUE,
            black_first: false,
        }
    }
}

impl Start {
    /// The start a FEN names.
    fn of(fen: &str) -> Start {
        let mut words = fen.split_ascii_whitespace();
        let board = words.next().unwrap_or_default();
        Start {
            value: board.chars().map(|c| value(c.to_ascii_lowercase())).sum(),
            black_first: words.next() == Some("b"),
        }
    }

    /// Number of the colour that plays ply `ply`.
    pub fn mover(self, ply: u16) -> usize {
        usize::from(ply.is_multiple_of(2) != self.black_first)
    }
}

fn value(letter: char) -> i32 {
    match letter {
        'n' | 'b' => 3,
        'r' => 5,
        'q' => 9,
        _ => 0,
    }
}

/// The games of one source, by number.
#[derive(Debug, Default)]
pub struct Source {
    /// By game number, the groups of White and Black plus one; 0 where there is no game.
    sides: Vec<[u32; 2]>,
    /// Starts that are not the usual one.
    starts: HashMap<u32, Start>,
}

impl Source {
    /// The group of a game's side.
    pub fn group(&self, game: u32, color: usize) -> Option<usize> {
        let sides = self.sides.get(game as usize)?;
        (sides[color] as usize).checked_sub(1)
    }

    /// How a game starts.
    pub fn start(&self, game: u32) -> Start {
        self.starts.get(&game).copied().unwrap_or_default()
    }
}

/// All games of a dataset.
#[derive(Debug, Default)]
pub struct Games {
    /// Names of the bands.
    pub bands: Vec<String>,
    /// Names of the time classes.
    pub time_classes: Vec<String>,
    /// The groups there are.
    pub groups: Vec<Group>,
    /// By group: sides, and turns those sides had.
    pub sides: Vec<(u64, u64)>,
    sources: HashMap<String, Source>,
}

impl Games {
    /// Reads the table of games.
    pub fn read(dataset: &Dataset) -> Result<Games, AskError> {
        let columns = [
            "game",
            "game_id",
            "white_band",
            "black_band",
            "time_class",
            "eco",
            "start_fen",
            "plies",
        ];
        let mut games = Games::default();
        let mut numbers: HashMap<Group, u32> = HashMap::new();
        let parts = dataset.parts("games")?;
        for (of, group) in part::groups(&parts)? {
            for rows in parts[of].read(&columns, group)? {
                let rows = rows?;
                let (number, plies) = (rows.fours("game")?, rows.pairs("plies")?);
                let id = rows.numbers("game_id")?;
                let both = [
                    named(&rows, "white_band", &mut games.bands)?,
                    named(&rows, "black_band", &mut games.bands)?,
                ];
                let class = named(&rows, "time_class", &mut games.time_classes)?;
                let letter = rows.texts("eco")?.read_as(letter);
                let fen = rows.texts("start_fen")?;
                let source = games.sources.entry(parts[of].source.clone()).or_default();
                for row in 0..rows.len() {
                    let null = |name: &str| rows.bad(format!("column \"{name}\" holds a null"));
                    let start = fen.get(row).map(Start::of);
                    if let Some(start) = start {
                        source.starts.insert(number[row], start);
                    }
                    let at = number[row] as usize;
                    if source.sides.len() <= at {
                        source.sides.resize(at + 1, [0; 2]);
                    }
                    for (color, name) in ["white_band", "black_band"].into_iter().enumerate() {
                        let group = Group {
                            band: both[color].at(row).ok_or_else(|| null(name))?,
                            time_class: class.at(row).ok_or_else(|| null("time_class"))?,
                            letter: letter.at(row),
                            fold: fold(id.at(row)),
                            color: color as u8,
                        };
                        let place = *numbers.entry(group).or_insert_with(|| {
                            games.groups.push(group);
                            games.sides.push((0, 0));
                            games.groups.len() as u32
                        });
                        source.sides[at][color] = place;
                        let first = start.unwrap_or_default().mover(1) == color;
                        let sides = &mut games.sides[place as usize - 1];
                        sides.0 += 1;
                        sides.1 += (u64::from(plies[row]) + u64::from(first)) / 2;
                    }
                }
            }
        }
        Ok(games)
    }

    /// The games of a source.
    pub fn source(&self, name: &str) -> Option<&Source> {
        self.sources.get(name)
    }
}

/// The numbers of a column's words among those seen.
fn named<'a>(
    rows: &'a Rows,
    name: &str,
    known: &mut Vec<String>,
) -> Result<Read<'a, Option<u32>>, AskError> {
    let texts = rows.texts(name)?;
    Ok(texts.read_as(|word| Some(words::number(known, word?) as u32)))
}

/// Number of the letter of an ECO code: a letter from A to E, of either case.
fn letter(eco: Option<&str>) -> u8 {
    let first = eco.and_then(|eco| eco.bytes().next());
    match first.map(|byte| byte.to_ascii_uppercase()) {
        Some(byte @ b'A'..=b'E') => byte - b'A',
        _ => 5,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn starts() {
        let usual = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";
        assert_eq!(Start::of(usual), Start::default());
        let other = Start::of("4k3/8/8/8/8/8/4Q3/R3K3 b - - 0 1");
        assert_eq!((other.value, other.black_first), (14, true));
        assert_eq!((other.mover(1), other.mover(2)), (1, 0));
        assert_eq!(
            (Start::default().mover(1), Start::default().mover(2)),
            (0, 1)
        );
    }

    #[test]
    fn letters() {
        let of = |eco| LETTERS[usize::from(letter(eco))];
        assert_eq!(of(Some("B12")), "B");
        assert_eq!(of(Some("e4")), "E");
        assert_eq!(
            (of(Some("X1")), of(Some("")), of(None)),
            ("none", "none", "none")
        );
    }
}
