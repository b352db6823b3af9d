//! The player's games, and which sides of which games are counted.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use crate::Player;
use crate::answer::{Spelling, Spellings};
use crate::names;
use crate::openings::Opening;
use hobble_conditions::{AskError, words};
use hobble_dataset::columns::{Numbers, Read, Rows, Texts};
use hobble_dataset::part;
use hobble_dataset::{Dataset, Part};
use hobble_terms::Table;
use shakmaty::Color;

/// What must be equal for a peer's side to be compared with a side of the player's.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stratum {
    /// Rating band of the side.
    pub band: String,
    /// Time class of the game.
    pub time_class: String,
}

/// A stratum, further parted by what answers are grouped by.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Cell {
    /// What is compared.
    pub stratum: Stratum,
    /// Whether the side is White's.
    pub white: bool,
    /// The group of openings it belongs to, by its place among those told apart.
    pub opening: Option<usize>,
}

/// One of the player's games.
#[derive(Debug, Clone)]
pub struct OwnGame {
    /// Number of its games part.
    pub part: usize,
    /// Row in that part.
    pub row: usize,
    /// Source.
    pub source: String,
    /// Number in its source.
    pub game: u64,
    /// Its id.
    pub game_id: u64,
    /// The side's cell; its opening is set once it is known which are told apart.
    pub cell: Cell,
    /// The opening by ECO code, or else by first moves.
    pub opening: Option<Opening>,
    /// Date tag.
    pub date: Option<String>,
    /// Start position, where not the usual one.
    pub start_fen: Option<String>,
}

/// The player's games, and how the name is spelled in them.
#[derive(Debug)]
pub struct Own {
    /// Games, in the order of the tables.
    pub games: Vec<OwnGame>,
    /// Spellings counted, and others.
    pub spellings: Spellings,
    /// Spellings met, and which of them are the player's.
    pub known: Known,
    /// Games in which both sides have the name, left out.
    pub both: u64,
}

/// Columns a batch is read from.
pub const COLUMNS: [&str; 10] = [
    "game",
    "game_id",
    "white",
    "black",
    "white_band",
    "black_band",
    "time_class",
    "eco",
    "date",
    "start_fen",
];

/// A batch of the table of games.
pub struct Games<'a> {
    /// Number of the game.
    pub game: Numbers<'a>,
    /// Its id.
    pub id: Numbers<'a>,
    /// White and Black.
    pub names: [Texts<'a>; 2],
    /// Their bands.
    pub bands: [Texts<'a>; 2],
    /// Time class.
    pub class: Texts<'a>,
    /// Opening by its code.
    pub eco: Read<'a, Option<Opening>>,
    /// Date tag.
    pub date: Texts<'a>,
    /// Start position, where not the usual one.
    pub start_fen: Texts<'a>,
}

impl<'a> Games<'a> {
    /// Of these rows.
    pub fn of(rows: &'a Rows) -> Result<Games<'a>, AskError> {
        let texts = |name: &str| rows.texts(name);
        Ok(Games {
            game: rows.numbers("game")?,
            id: rows.numbers("game_id")?,
            names: [texts("white")?, texts("black")?],
            bands: [texts("white_band")?, texts("black_band")?],
            class: texts("time_class")?,
            eco: texts("eco")?.read_as(|eco| Opening::of_eco(eco?)),
            date: texts("date")?,
            start_fen: texts("start_fen")?,
        })
    }

    /// Which rows have the player as White, and as Black.
    pub fn owns(&self, known: &mut Known) -> [Read<'a, bool>; 2] {
        self.names
            .map(|names| names.read_as(|name| known.is_own(name)))
    }

    /// The cell of a side, its opening not told apart.
    pub fn cell(&self, row: usize, side: usize) -> Cell {
        let text = |column: &Texts<'_>| column.get(row).unwrap_or_default().to_owned();
        Cell {
            stratum: Stratum {
                band: text(&self.bands[side]),
                time_class: text(&self.class),
            },
            white: side == 0,
            opening: None,
        }
    }
}

/// Spellings met so far, each with its key, worked out once.
#[derive(Debug, Default)]
pub struct Known {
    /// Keys of the name and its aliases.
    keys: BTreeSet<String>,
    seen: HashMap<String, (String, bool)>,
}

impl Known {
    fn is_own(&mut self, name: Option<&str>) -> bool {
        let Some(name) = name else { return false };
        if let Some((_, own)) = self.seen.get(name) {
            return *own;
        }
        let key = names::key(name);
        let own = self.keys.contains(&key);
        self.seen.insert(name.to_owned(), (key, own));
        own
    }

    fn key(&self, name: &str) -> &str {
        self.seen.get(name).map_or("", |(key, _)| key)
    }
}

/// Finds the player's games.
///
/// # Errors
///
/// Where the name or an alias is in no game, with the spellings most like it, or where the
/// table cannot be read.
pub fn own(dataset: &Dataset, player: &Player) -> Result<Own, AskError> {
    let given: Vec<&String> = std::iter::once(&player.name)
        .chain(&player.aliases)
        .collect();
    let keys: BTreeSet<String> = given.iter().map(|name| names::key(name)).collect();
    for name in &given {
        if names::key(name).is_empty() {
            return Err(AskError::Player {
                name: (*name).clone(),
                what: "this is no name: it holds no letter".to_owned(),
            });
        }
    }
    let mut search = Search {
        known: Known {
            keys,
            seen: HashMap::new(),
        },
        games: Vec::new(),
        all: HashMap::new(),
        counted: BTreeMap::new(),
        both: 0,
    };
    let parts = dataset.parts(Table::Games)?;
    for (number, group) in part::groups(&parts)? {
        for rows in parts[number].read(&COLUMNS, group)? {
            search.in_batch(number, &parts[number], &rows?)?;
        }
    }
    let Search {
        known,
        games,
        all,
        counted,
        both,
    } = search;
    let all: BTreeMap<String, u64> = all.into_iter().collect();
    for name in given {
        let wanted = names::key(name);
        if !all.keys().any(|spelling| known.key(spelling) == wanted) {
            return Err(not_found(name, &all));
        }
    }
    let mut spellings: Vec<Spelling> = counted.into_values().collect();
    spellings.sort_by_key(|one| std::cmp::Reverse(one.white + one.black));
    Ok(Own {
        games,
        spellings: Spellings {
            counted: spellings,
            not_counted: names::uncounted(&known.keys, &all, |name| known.key(name)),
        },
        known,
        both,
    })
}

/// The player's games found so far.
struct Search {
    known: Known,
    games: Vec<OwnGame>,
    /// Games by spelling of every player.
    all: HashMap<String, u64>,
    /// The player's spellings.
    counted: BTreeMap<String, Spelling>,
    /// Games of which both sides are the player's.
    both: u64,
}

impl Search {
    fn in_batch(&mut self, number: usize, part: &Part, rows: &Rows) -> Result<(), AskError> {
        let table = Games::of(rows)?;
        let owns = table.owns(&mut self.known);
        for row in 0..rows.len() {
            let names = table.names.map(|names| names.get(row));
            for name in names.into_iter().flatten() {
                match self.all.get_mut(name) {
                    Some(games) => *games += 1,
                    None => {
                        self.all.insert(name.to_owned(), 1);
                    }
                }
            }
            let own = [owns[0].at(row), owns[1].at(row)];
            if own == [true, true] {
                self.both += 1;
                continue;
            }
            for side in 0..2 {
                let (true, Some(name)) = (own[side], names[side]) else {
                    continue;
                };
                if !part.looks_at(table.game.at(row) as u32, Color::ALL[side]) {
                    continue;
                }
                self.count_spelling(name, side);
                self.games.push(OwnGame {
                    part: number,
                    row: rows.place(row),
                    source: part.source().to_owned(),
                    game: table.game.at(row),
                    game_id: table.id.at(row),
                    cell: table.cell(row, side),
                    opening: table.eco.at(row),
                    date: table.date.get(row).map(str::to_owned),
                    start_fen: table.start_fen.get(row).map(str::to_owned),
                });
            }
        }
        Ok(())
    }

    fn count_spelling(&mut self, name: &str, side: usize) {
        let spelling = self.counted.entry(name.to_owned());
        let spelling = spelling.or_insert_with(|| Spelling {
            spelling: name.to_owned(),
            white: 0,
            black: 0,
        });
        if side == 0 {
            spelling.white += 1;
        } else {
            spelling.black += 1;
        }
    }
}

fn not_found(name: &str, all: &BTreeMap<String, u64>) -> AskError {
    let offers: Vec<String> = names::offers(name, all)
        .into_iter()
        .map(|(spelling, games)| format!("\"{spelling}\" ({})", words::counted(games, "game")))
        .collect();
    let what = if offers.is_empty() {
        "no game is by this name, and no name is like it".to_owned()
    } else {
        format!(
            "no game is by this name; did you mean {}?",
            offers.join(" or ")
        )
    };
    AskError::Player {
        name: name.to_owned(),
        what,
    }
}

/// Sides of one source by game number: of neither, the player's, or a peer's in some cell and
/// fold.
#[derive(Debug, Default)]
pub struct Places {
    /// White's and Black's side of each game.
    pub sides: Vec<[u32; 2]>,
}

/// A side that is not counted.
pub const NOT_COUNTED: u32 = u32::MAX;
/// Sides from here on are the player's: so many less is the number of the game.
pub const OWN: u32 = 1 << 31;

/// The number of the player's game that a side stands for, if it is the player's.
pub fn own_game(side: u32) -> Option<usize> {
    (side >= OWN && side != NOT_COUNTED).then(|| (side - OWN) as usize)
}

impl Places {
    /// The sides of a game.
    pub fn of(&self, game: u64) -> [u32; 2] {
        usize::try_from(game)
            .ok()
            .and_then(|game| self.sides.get(game))
            .copied()
            .unwrap_or([NOT_COUNTED; 2])
    }

    /// Says what a side of a game is.
    pub fn set(&mut self, game: u64, side: usize, what: u32) {
        let Ok(game) = usize::try_from(game) else {
            return;
        };
        if self.sides.len() <= game {
            self.sides.resize(game + 1, [NOT_COUNTED; 2]);
        }
        self.sides[game][side] = what;
    }

    /// The player's sides, by source.
    pub fn of_own(games: &[OwnGame]) -> BTreeMap<String, Places> {
        let mut places: BTreeMap<String, Places> = BTreeMap::new();
        for (number, one) in (0u32..).zip(games) {
            let side = usize::from(!one.cell.white);
            places
                .entry(one.source.clone())
                .or_default()
                .set(one.game, side, OWN + number);
        }
        places
    }
}
