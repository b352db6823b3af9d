//! Who played which side of which game: the player's sides, and those of peers.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use crate::columns::Rows;
use crate::dataset::{Dataset, Part};
use crate::error::AskError;
use crate::habits::Player;
use crate::habits::answer::{Spelling, Spellings};
use crate::habits::names;

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
    /// First letter of the ECO code, if there is one.
    pub opening: Option<char>,
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
    /// The side's cell.
    pub cell: Cell,
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
    /// Keys of the name and its aliases.
    pub keys: BTreeSet<String>,
    /// Games in which both sides bear the name, left out.
    pub both: u64,
}

const COLUMNS: [&str; 10] = [
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

struct Games {
    game: Vec<u64>,
    id: Vec<u64>,
    names: [Vec<Option<String>>; 2],
    bands: [Vec<Option<String>>; 2],
    class: Vec<Option<String>>,
    eco: Vec<Option<String>>,
    date: Vec<Option<String>>,
    start_fen: Vec<Option<String>>,
}

impl Games {
    fn read(part: &Part) -> Result<Games, AskError> {
        let frame = part.read(&COLUMNS, None)?;
        let rows = Rows::new(part.table, &frame);
        let texts = |name: &str| rows.optional_texts(name);
        Ok(Games {
            game: rows.numbers("game")?,
            id: rows.numbers("game_id")?,
            names: [texts("white")?, texts("black")?],
            bands: [texts("white_band")?, texts("black_band")?],
            class: texts("time_class")?,
            eco: texts("eco")?,
            date: texts("date")?,
            start_fen: texts("start_fen")?,
        })
    }

    fn cell(&self, row: usize, side: usize) -> Cell {
        let text = |column: &[Option<String>]| column[row].clone().unwrap_or_default();
        Cell {
            stratum: Stratum {
                band: text(&self.bands[side]),
                time_class: text(&self.class),
            },
            white: side == 0,
            opening: self.eco[row]
                .as_ref()
                .and_then(|eco| eco.chars().next())
                .map(|letter| letter.to_ascii_uppercase())
                .filter(|letter| ('A'..='E').contains(letter)),
        }
    }
}

/// Whether spellings are the player's, each worked out once.
struct Known<'a> {
    keys: &'a BTreeSet<String>,
    seen: HashMap<String, bool>,
}

impl Known<'_> {
    fn is_own(&mut self, name: Option<&String>) -> bool {
        let Some(name) = name else { return false };
        if let Some(known) = self.seen.get(name) {
            return *known;
        }
        let own = self.keys.contains(&names::key(name));
        self.seen.insert(name.clone(), own);
        own
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
    let mut known = Known {
        keys: &keys,
        seen: HashMap::new(),
    };
    let mut games = Vec::new();
    let mut all: HashMap<String, u64> = HashMap::new();
    let mut counted: BTreeMap<String, Spelling> = BTreeMap::new();
    let mut both = 0;
    for (number, part) in dataset.parts("games")?.iter().enumerate() {
        let table = Games::read(part)?;
        for row in 0..table.game.len() {
            let names = [&table.names[0][row], &table.names[1][row]];
            for name in names.into_iter().flatten() {
                match all.get_mut(name) {
                    Some(games) => *games += 1,
                    None => {
                        all.insert(name.clone(), 1);
                    }
                }
            }
            let own = names.map(|name| known.is_own(name.as_ref()));
            if own == [true, true] {
                both += 1;
                continue;
            }
            for side in 0..2 {
                let (true, Some(name)) = (own[side], names[side]) else {
                    continue;
                };
                let spelling = counted.entry(name.clone()).or_insert_with(|| Spelling {
                    spelling: name.clone(),
                    white: 0,
                    black: 0,
                });
                if side == 0 {
                    spelling.white += 1;
                } else {
                    spelling.black += 1;
                }
                games.push(OwnGame {
                    part: number,
                    row,
                    source: part.source.clone(),
                    game: table.game[row],
                    game_id: table.id[row],
                    cell: table.cell(row, side),
                    date: table.date[row].clone(),
                    start_fen: table.start_fen[row].clone(),
                });
            }
        }
    }
    let all: BTreeMap<String, u64> = all.into_iter().collect();
    for name in given {
        let wanted = names::key(name);
        if !all.keys().any(|spelling| names::key(spelling) == wanted) {
            return Err(not_found(name, &all));
        }
    }
    let mut spellings: Vec<Spelling> = counted.into_values().collect();
    spellings.sort_by_key(|one| std::cmp::Reverse(one.white + one.black));
    Ok(Own {
        games,
        spellings: Spellings {
            counted: spellings,
            not_counted: names::uncounted(&keys, &all),
        },
        keys,
        both,
    })
}

fn not_found(name: &str, all: &BTreeMap<String, u64>) -> AskError {
    let offers: Vec<String> = names::offers(name, all)
        .into_iter()
        .map(|(spelling, games)| {
            format!("\"{spelling}\" ({})", crate::words::counted(games, "game"))
        })
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

/// Sides of one source by game number: nobody's, the player's, or a peer's in some cell and
/// fold.
#[derive(Debug, Default)]
pub struct Places {
    /// White's and Black's side of each game.
    pub sides: Vec<[u32; 2]>,
}

/// A side nobody asks about.
pub const NOBODY: u32 = u32::MAX;
/// Sides from here on are the player's: so many less is the number of the game.
pub const OWN: u32 = 1 << 31;

impl Places {
    /// The sides of a game.
    pub fn of(&self, game: u64) -> [u32; 2] {
        usize::try_from(game)
            .ok()
            .and_then(|game| self.sides.get(game))
            .copied()
            .unwrap_or([NOBODY; 2])
    }

    fn set(&mut self, game: u64, side: usize, what: u32) {
        let Ok(game) = usize::try_from(game) else {
            return;
        };
        if self.sides.len() <= game {
            self.sides.resize(game + 1, [NOBODY; 2]);
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

/// The peers: cells, with their sides by fold, and where they are.
#[derive(Debug, Default)]
pub struct Peers {
    /// Cells that occur, sorted.
    pub cells: Vec<Cell>,
    /// Sides by cell and fold.
    pub sides: Vec<[u64; 64]>,
    /// Where they are, by source.
    pub places: BTreeMap<String, Places>,
    /// Different spellings among them.
    pub names: u64,
}

/// Finds the peers: sides in the player's strata, played by others in games without the
/// player.
///
/// # Errors
///
/// Where the table cannot be read.
pub fn peers(
    dataset: &Dataset,
    keys: &BTreeSet<String>,
    strata: &BTreeSet<Stratum>,
) -> Result<Peers, AskError> {
    let mut known = Known {
        keys,
        seen: HashMap::new(),
    };
    let mut numbers: HashMap<Cell, u32> = HashMap::new();
    let mut peers = Peers::default();
    let mut different: BTreeSet<String> = BTreeSet::new();
    for part in dataset.parts("games")? {
        let table = Games::read(&part)?;
        let places = peers.places.entry(part.source.clone()).or_default();
        for row in 0..table.game.len() {
            if (0..2).any(|side| known.is_own(table.names[side][row].as_ref())) {
                continue;
            }
            let fold = table.id[row] % 64;
            for side in 0..2 {
                let cell = table.cell(row, side);
                if !strata.contains(&cell.stratum) {
                    continue;
                }
                let next = u32::try_from(numbers.len()).unwrap_or(u32::MAX);
                let number = *numbers.entry(cell.clone()).or_insert_with(|| {
                    peers.cells.push(cell);
                    peers.sides.push([0; 64]);
                    next
                });
                peers.sides[number as usize][fold as usize] += 1;
                places.set(table.game[row], side, number * 64 + fold as u32);
                if let Some(name) = &table.names[side][row]
                    && !different.contains(name)
                {
                    different.insert(name.clone());
                }
            }
        }
    }
    peers.names = different.len() as u64;
    Ok(peers)
}
