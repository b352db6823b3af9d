//! The player's games: what every part is asked first.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet, HashMap};

use hobble_conditions::chosen::{self, Chooses};
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::sum::{State, Sum};
use hobble_conditions::{AskError, words};
use hobble_dataset::columns::Rows;
use hobble_dataset::{Dataset, DatasetSummary, Part, PartId};
use hobble_terms::Table;
use serde::{Deserialize, Serialize};
use shakmaty::Color;

use crate::answer::{Spelling, Spellings};
use crate::openings::{Opening, Openings};
use crate::sides::{COLUMNS, Cell, Games, Known, Stratum, Whose};
use crate::{Habits, Player};
use crate::{first_moves, names};

/// One of the player's games.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OwnGame {
    /// The part it stands in.
    pub part: PartId,
    /// Row in that part of the table of games.
    pub row: usize,
    /// Number in its source.
    pub game: u64,
    /// Its id.
    pub game_id: u64,
    /// The side's cell; its opening is set once the groups are known.
    pub cell: Cell,
    /// The opening by ECO code, or else by first moves.
    pub opening: Option<Opening>,
    /// Date tag.
    pub date: Option<String>,
    /// Start position, where not the usual one.
    pub start_fen: Option<String>,
}

impl OwnGame {
    /// Source and number: what the game is found by in other tables.
    pub fn key(&self) -> (String, u64) {
        (self.part.source.clone(), self.game)
    }

    /// What it is called in an error.
    pub fn name(&self) -> String {
        format!("game {} of {}", self.game, self.part.source)
    }
}

/// The player's games, and how the name is spelled in them.
#[derive(Debug, Serialize, Deserialize)]
pub struct Own {
    /// Games, in the order of the tables.
    pub games: Vec<OwnGame>,
    /// Spellings counted, and others.
    pub spellings: Spellings,
    /// Keys of the name and its aliases.
    pub keys: BTreeSet<String>,
    /// All spellings with one of these keys.
    pub names: BTreeSet<String>,
    /// Games in which both sides have the name, left out.
    pub both: u64,
    /// The groups of openings.
    pub openings: Openings,
    /// What the tables were made from, and what is looked at of them.
    pub dataset: DatasetSummary,
}

impl Own {
    /// Strata of the games, each once, sorted.
    pub fn strata(&self) -> BTreeSet<Stratum> {
        let strata = self.games.iter().map(|game| game.cell.stratum.clone());
        strata.collect()
    }
}

/// Asks for the games of a player.
#[derive(Debug, Serialize, Deserialize)]
pub struct OwnSides {
    pub(crate) habits: Habits,
    player: Player,
    whose: Whose,
}

impl OwnSides {
    /// Of a question about a player. Who plays is asked by name: keys that choose players and titles
    /// choose peers alone.
    ///
    /// # Errors
    ///
    /// Where the name or an alias holds no letter.
    pub fn of(habits: &Habits, player: &Player) -> Result<OwnSides, AskError> {
        let keys = named(player).map(|name| match names::key(name) {
            key if key.is_empty() => Err(AskError::Player {
                name: name.clone(),
                what: "this is not a name: it holds no letter".to_owned(),
            }),
            key => Ok(key),
        });
        Ok(OwnSides {
            habits: Habits {
                player: Vec::new(),
                player_title: Vec::new(),
                ..habits.clone()
            },
            player: player.clone(),
            whose: Whose::Keys(keys.collect::<Result<_, _>>()?),
        })
    }
}

/// The name and its aliases.
fn named(player: &Player) -> impl Iterator<Item = &String> {
    std::iter::once(&player.name).chain(&player.aliases)
}

impl Chooses for OwnSides {
    fn chosen<'a>(&self, dataset: &'a Dataset) -> Result<Cow<'a, Dataset>, AskError> {
        chosen::of_question(&self.habits, dataset)
    }

    fn chooses(&self) -> bool {
        self.habits.chooses_sides()
    }
}

impl Sum for OwnSides {
    type State = Met;
    type Answer = Own;

    fn tables(&self) -> &'static [Table] {
        &[Table::Games]
    }

    fn shown(&self) -> &'static [Table] {
        // First moves.
        &[Table::Moves]
    }

    /// Names that are nothing like the player's are dropped, so that a state does not grow with their number.
    fn keep(&self, _: &Dataset, met: &mut Met) -> Result<(), AskError> {
        let wanted: Vec<String> = named(&self.player).map(|name| names::key(name)).collect();
        met.all.retain(|name, _| names::is_like(&wanted, name));
        Ok(())
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<Met, AskError> {
        let mut met = Met::default();
        if let Some(part) = dataset.part(Table::Games, id) {
            let mut known = Known::of(&self.whose);
            part.each(&COLUMNS, |rows| met.in_batch(&part, rows, &mut known))?;
            met.read_openings(dataset, id)?;
        }
        Ok(met)
    }

    fn answer(&self, dataset: &Dataset, met: &Met) -> Result<Own, AskError> {
        let all: BTreeMap<String, u64> = (met.all.iter())
            .map(|(name, games)| (name.clone(), *games))
            .collect();
        let keys: HashMap<&str, String> = (all.keys())
            .map(|name| (name.as_str(), names::key(name)))
            .collect();
        let mut own_keys = BTreeSet::new();
        for name in named(&self.player) {
            let wanted = names::key(name);
            own_keys.insert(wanted.clone());
            if !keys.values().any(|key| *key == wanted) {
                return Err(not_found(name, &all));
            }
        }
        if met.games.is_empty() {
            return Err(AskError::Player {
                name: self.player.name.clone(),
                what: match dataset.summary().chosen {
                    Some(_) => "no game of the player passes the filters",
                    None => {
                        "in every game by this name both sides have it, so the player's side is unknown"
                    }
                }
                .to_owned(),
            });
        }
        let mut spellings: Vec<Spelling> = met.counted.values().cloned().collect();
        spellings.sort_by_key(|one| std::cmp::Reverse(one.white + one.black));
        let key_of = |name: &str| keys.get(name).map_or("", String::as_str);
        let mut games = met.games.clone();
        let known = games.iter().filter_map(|game| game.opening);
        let openings = Openings::of(known, self.habits.minimum_games);
        for game in &mut games {
            game.cell.opening = game.opening.and_then(|opening| openings.group(opening));
        }
        Ok(Own {
            games,
            spellings: Spellings {
                counted: spellings,
                not_counted: names::uncounted(&own_keys, &all, key_of),
            },
            names: (all.keys())
                .filter(|name| own_keys.contains(key_of(name)))
                .cloned()
                .collect(),
            keys: own_keys,
            both: met.both,
            openings,
            dataset: dataset.summary().clone(),
        })
    }
}

/// The player's games found so far, and the names met.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Met {
    /// In the order of the tables.
    games: Vec<OwnGame>,
    /// Games by spelling: of every player, or in a state that is written of those named like the player.
    all: HashMap<String, u64>,
    /// The player's spellings.
    counted: BTreeMap<String, Spelling>,
    /// Games of which both sides are the player's.
    both: u64,
}

impl State for Met {
    fn add(&mut self, other: Met) {
        self.games.extend(other.games);
        self.games
            .sort_by(|a, b| (&a.part, a.row).cmp(&(&b.part, b.row)));
        for (name, games) in other.all {
            *self.all.entry(name).or_default() += games;
        }
        for (name, one) in other.counted {
            let sum = self.spelling(&name);
            sum.white += one.white;
            sum.black += one.black;
        }
        self.both += other.both;
    }
}

impl Met {
    fn in_batch(
        &mut self,
        part: &Part,
        rows: &Rows,
        known: &mut Known<'_>,
    ) -> Result<(), AskError> {
        let table = Games::of(rows)?;
        let owns = table.owns(known);
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
                let spelling = self.spelling(name);
                if side == 0 {
                    spelling.white += 1;
                } else {
                    spelling.black += 1;
                }
                self.games.push(OwnGame {
                    part: part.id().clone(),
                    row: rows.place(row),
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

    /// The opening by first moves, where a game from the usual start has no ECO code.
    fn read_openings(&mut self, dataset: &Dataset, id: &PartId) -> Result<(), AskError> {
        let without = |game: &&OwnGame| game.opening.is_none() && game.start_fen.is_none();
        let wanted: BTreeSet<u64> = (self.games.iter().filter(without))
            .map(|game| game.game)
            .collect();
        if !wanted.is_empty() {
            let mut by_moves = first_moves::read(dataset, id, |game| wanted.contains(&game), Some)?;
            for game in &mut self.games {
                game.opening = game.opening.or_else(|| by_moves.remove(&game.game));
            }
        }
        Ok(())
    }

    fn spelling(&mut self, name: &str) -> &mut Spelling {
        let spelling = self.counted.entry(name.to_owned());
        spelling.or_insert_with(|| Spelling {
            spelling: name.to_owned(),
            white: 0,
            black: 0,
        })
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
