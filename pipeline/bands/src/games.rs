//! The players of each game: what their side is split by, kept as one small number a side.

use std::collections::HashMap;

use hobble_conditions::{AskError, words};
use hobble_dataset::Part;
use hobble_dataset::columns::{Read, Rows};
use hobble_terms::fold::fold;
use shakmaty::Color;

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

/// The games of a part of a source.
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
    /// Number of the first game below.
    first: u32,
    /// By game number, the groups of White and Black plus one; 0 where there is no game,
    /// [`NOT_CHOSEN`] for a side that is not looked at.
    of_game: Vec<[u32; 2]>,
    /// Starts that are not the usual one.
    starts: HashMap<u32, Start>,
    /// Numbers of the groups.
    numbers: HashMap<Group, u32>,
}

/// In the place of the group of a side that is not looked at.
const NOT_CHOSEN: u32 = u32::MAX;

const COLUMNS: [&str; 8] = [
    "game",
    "game_id",
    "white_band",
    "black_band",
    "time_class",
    "eco",
    "start_fen",
    "plies",
];

impl Games {
    /// Reads a part of the table of games.
    pub fn read(part: &Part) -> Result<Games, AskError> {
        let mut games = Games::default();
        part.each(&COLUMNS, |rows| games.in_batch(rows, part))?;
        Ok(games)
    }

    fn in_batch(&mut self, rows: &Rows, part: &Part) -> Result<(), AskError> {
        let (number, plies) = (rows.fours("game")?, rows.pairs("plies")?);
        let id = rows.numbers("game_id")?;
        let both = [
            named(rows, "white_band", &mut self.bands)?,
            named(rows, "black_band", &mut self.bands)?,
        ];
        let class = named(rows, "time_class", &mut self.time_classes)?;
        let letter = rows.texts("eco")?.read_as(letter);
        let fen = rows.texts("start_fen")?;
        for row in 0..rows.len() {
            let null = |name: &str| rows.bad(format!("column \"{name}\" holds a null"));
            let start = fen.get(row).map(Start::of);
            if let Some(start) = start {
                self.starts.insert(number[row], start);
            }
            for (color, name) in ["white_band", "black_band"].into_iter().enumerate() {
                if !part.looks_at(number[row], Color::ALL[color]) {
                    self.place(number[row])[color] = NOT_CHOSEN;
                    continue;
                }
                let place = self.number(Group {
                    band: both[color].at(row).ok_or_else(|| null(name))?,
                    time_class: class.at(row).ok_or_else(|| null("time_class"))?,
                    letter: letter.at(row),
                    fold: fold(id.at(row)),
                    color: color as u8,
                });
                self.place(number[row])[color] = place;
                let first = start.unwrap_or_default().mover(1) == color;
                let sides = &mut self.sides[place as usize - 1];
                sides.0 += 1;
                sides.1 += (u64::from(plies[row]) + u64::from(first)) / 2;
            }
        }
        Ok(())
    }

    /// The number of a group plus one, a new one numbered on.
    fn number(&mut self, group: Group) -> u32 {
        *self.numbers.entry(group).or_insert_with(|| {
            self.groups.push(group);
            self.sides.push((0, 0));
            self.groups.len() as u32
        })
    }

    /// Where the groups of a game stand.
    fn place(&mut self, game: u32) -> &mut [u32; 2] {
        if self.of_game.is_empty() {
            self.first = game;
        }
        if game < self.first {
            let missing = (self.first - game) as usize;
            self.of_game.splice(0..0, vec![[0; 2]; missing]);
            self.first = game;
        }
        let at = (game - self.first) as usize;
        if self.of_game.len() <= at {
            self.of_game.resize(at + 1, [0; 2]);
        }
        &mut self.of_game[at]
    }

    /// The group of a game's side.
    pub fn group(&self, game: u32, color: usize) -> Option<usize> {
        let group = self.of_side(game, color)?;
        (group != NOT_CHOSEN).then_some(group as usize - 1)
    }

    /// Refuses a row of a side that is not among the games.
    pub fn check(&self, rows: &Rows, game: u32, color: usize) -> Result<(), AskError> {
        match self.group(game, color) {
            Some(_) => Ok(()),
            None => Err(rows
                .bad(format!("game {game} is not among the games"))
                .into()),
        }
    }

    /// Whether a game's side is not looked at.
    pub fn is_not_chosen(&self, game: u32, color: usize) -> bool {
        self.of_side(game, color) == Some(NOT_CHOSEN)
    }

    fn of_side(&self, game: u32, color: usize) -> Option<u32> {
        let at = game.checked_sub(self.first)?;
        let sides = self.of_game.get(at as usize)?;
        Some(sides[color]).filter(|group| *group > 0)
    }

    /// How a game starts.
    pub fn start(&self, game: u32) -> Start {
        self.starts.get(&game).copied().unwrap_or_default()
    }
}

/// Numbers of the colours of rows.
pub fn colors(rows: &Rows) -> Result<Read<'_, Option<usize>>, AskError> {
    let number = |word: &str| COLORS.iter().position(|color| *color == word);
    Ok(rows.texts("color")?.read_as(|word| number(word?)))
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
pub fn letter(eco: Option<&str>) -> u8 {
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

    /// Games are found by number, whatever number a part begins with.
    #[test]
    fn games_by_number() {
        let mut games = Games::default();
        for (game, group) in [(70_000, 3), (70_002, 4), (69_999, 5)] {
            games.place(game)[1] = group;
        }
        let groups: Vec<_> = (69_998..70_004).map(|game| games.group(game, 1)).collect();
        assert_eq!(groups, [None, Some(4), Some(2), None, Some(3), None]);
        assert_eq!(games.group(70_000, 0), None);
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
