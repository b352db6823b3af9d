//! Players gathered in rounds, of which each holds no more than so many.
//!
//! A round begins above the hashes of the rounds before and takes all players it meets. Where they
//! become too many it drops those of the highest hashes and takes none as high any more, so that the
//! players it still has were counted in all their games.

use std::path::{Path, PathBuf};

use arrow_array::Array as _;
use hashbrown::HashTable;
use hashbrown::hash_table::Entry;
use hobble_terms::Table;
use hobble_terms::manifest::Manifest;
use hobble_terms::names::PlayerKeys;
use xxhash_rust::xxh3::xxh3_64;

use crate::error::Error;
use crate::games::GAMES;
use crate::players::one_player::{OneGame, OnePlayer};
use crate::rows::{Rows, read};
use crate::sides::SIDES;

/// A player with the hash of the key, and the key.
pub(super) type Player = (u64, Box<str>, OnePlayer);

/// The players of a folder, in the order of the hashes of their keys.
pub(super) struct Rounds {
    /// Files of `games`, each with that of `sides` where there is one.
    files: Vec<(PathBuf, Option<PathBuf>)>,
    /// Most players held at a time.
    most: usize,
    /// First place that was not handed out; `None` where all were.
    from: Option<u64>,
    keys: PlayerKeys,
}

impl Rounds {
    /// Rounds over the tables that a manifest names.
    pub fn new(folder: &Path, manifest: &Manifest, most: usize) -> Rounds {
        let mut files = Vec::new();
        for source in &manifest.sources {
            for part in &source.parts {
                let file = |table: Table| {
                    let is_there = part.tables.contains_key(&table);
                    is_there.then(|| table.part_file(folder, &source.source, part.part))
                };
                files.extend(file(Table::Games).map(|games| (games, file(Table::Sides))));
            }
        }
        Rounds {
            files,
            most,
            from: Some(0),
            keys: PlayerKeys::default(),
        }
    }

    /// The players of the next round; `None` where there are no more.
    ///
    /// # Errors
    ///
    /// Where a table cannot be read.
    pub fn next_round(&mut self) -> Result<Option<Vec<Player>>, Error> {
        let Some(from) = self.from.take() else {
            return Ok(None);
        };
        let mut round = Round::new(from, self.most);
        let files = std::mem::take(&mut self.files);
        for (games, sides) in &files {
            let titles = match sides {
                Some(sides) => Titles::of(sides)?,
                None => Titles::default(),
            };
            let mut row = 0;
            read(games, &columns(), |rows| {
                self.add(rows, &titles, &mut row, &mut round)
            })?;
        }
        self.files = files;
        self.from = round.below;
        Ok(Some(round.sorted()))
    }

    fn add(
        &mut self,
        rows: &Rows<'_>,
        titles: &Titles,
        row_of_file: &mut usize,
        round: &mut Round,
    ) -> Result<(), Error> {
        let names = [rows.read(GAMES.white)?, rows.read(GAMES.black)?];
        let ratings = [
            rows.read(GAMES.white_rating)?,
            rows.read(GAMES.black_rating)?,
        ];
        let dates = rows.read(GAMES.date)?;
        for (side, (names, ratings)) in names.into_iter().zip(ratings).enumerate() {
            for (row, name) in names.iter().enumerate() {
                let Some(name) = name else { continue };
                let Some(key) = self.keys.of(name) else {
                    continue;
                };
                let game = OneGame {
                    name,
                    is_black: side == 1,
                    date: dates.is_valid(row).then(|| dates.value(row)),
                    rating: ratings.is_valid(row).then(|| ratings.value(row)),
                    title: titles.of_side(2 * (*row_of_file + row) + side),
                };
                round.add(key, &game);
            }
        }
        *row_of_file += rows.len();
        Ok(())
    }
}

fn columns() -> [&'static str; 5] {
    [
        GAMES.white.name(),
        GAMES.black.name(),
        GAMES.white_rating.name(),
        GAMES.black_rating.name(),
        GAMES.date.name(),
    ]
}

/// Titles of the sides of a part, in the order of its games.
#[derive(Default)]
struct Titles(Vec<Option<Box<str>>>);

impl Titles {
    fn of(path: &Path) -> Result<Titles, Error> {
        let mut titles = Vec::new();
        read(path, &[SIDES.title.name()], |rows| {
            let read = rows.read(SIDES.title)?.iter();
            titles.extend(read.map(|title| title.map(Box::from)));
            Ok(())
        })?;
        Ok(Titles(titles))
    }

    fn of_side(&self, side: usize) -> Option<&str> {
        self.0.get(side)?.as_deref()
    }
}

/// One round.
struct Round {
    /// Hashes below this were in a former round.
    from: u64,
    /// Hashes from here on are left for later rounds.
    below: Option<u64>,
    most: usize,
    players: HashTable<Player>,
}

impl Round {
    fn new(from: u64, most: usize) -> Round {
        Round {
            from,
            below: None,
            most,
            players: HashTable::new(),
        }
    }

    fn add(&mut self, key: &str, game: &OneGame<'_>) {
        let hash = xxh3_64(key.as_bytes());
        if hash < self.from || self.below.is_some_and(|below| hash >= below) {
            return;
        }
        let is_same = |player: &Player| player.0 == hash && *player.1 == *key;
        match self.players.entry(hash, is_same, |player| player.0) {
            Entry::Occupied(mut player) => player.get_mut().2.add(game),
            Entry::Vacant(place) => {
                let mut player = OnePlayer::default();
                player.add(game);
                place.insert((hash, key.into(), player));
                if self.players.len() > self.most {
                    self.drop_half();
                }
            }
        }
    }

    /// Leaves the players of the higher hashes for later rounds.
    fn drop_half(&mut self) {
        let mut hashes: Vec<u64> = self.players.iter().map(|player| player.0).collect();
        let middle = hashes.len() / 2;
        let (_, &mut hash, _) = hashes.select_nth_unstable(middle);
        // Players of one hash stay together.
        if hash > self.from {
            self.players.retain(|player| player.0 < hash);
            self.below = Some(hash);
        }
    }

    /// The players, in the order of their hashes.
    fn sorted(self) -> Vec<Player> {
        let mut players: Vec<Player> = self.players.into_iter().collect();
        players.sort_unstable_by(|a, b| (a.0, &a.1).cmp(&(b.0, &b.1)));
        players
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rounds of few players give what one round of all gives.
    #[test]
    fn rounds_hand_out_each_player_once_with_all_games() {
        let names: Vec<String> = (0..1_000)
            .map(|n| format!("player{}", n * n % 331))
            .collect();
        let game = |name| OneGame {
            name,
            is_black: false,
            date: None,
            rating: None,
            title: None,
        };
        let all_rounds = |most: usize| {
            let (mut from, mut found, mut rounds) = (Some(0), Vec::new(), 0);
            while let Some(start) = from {
                let mut round = Round::new(start, most);
                names.iter().for_each(|name| round.add(name, &game(name)));
                from = round.below;
                assert!(round.players.len() <= most);
                rounds += 1;
                let players = round.sorted().into_iter();
                found.extend(players.map(|(_, key, player)| (key, player.games())));
            }
            (found, rounds)
        };
        let (whole, once) = all_rounds(1_000);
        let (found, rounds) = all_rounds(20);
        assert_eq!(once, 1);
        assert!(rounds > 8, "{rounds}");
        assert_eq!(whole, found);
        let games: i32 = whole.iter().map(|(_, games)| games[0]).sum();
        assert_eq!(games, 1_000);
    }
}
