//! Players counted again from `games`.

use std::collections::HashSet;
use std::path::Path;

use arrow_array::Array as _;
use hobble_terms::names::PlayerKeys;
use xxhash_rust::xxh3::xxh3_64;

use crate::error::Error;
use crate::games::GAMES;
use crate::players::PLAYERS;
use crate::rows::read;

/// Sums over players, by one table.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    /// Sides with a player key, White's and Black's.
    sides: [u64; 2],
    /// Those with a rating.
    rated: u64,
    /// Sum over the sides of eight bytes that stand for the key, modulo 2^64.
    hashes: u64,
}

/// What two tables say of players.
#[derive(Default)]
pub(super) struct Players {
    by_games: Sums,
    by_players: Sums,
    /// Hashes of the keys: eight bytes a player.
    keys: HashSet<u64>,
    rows: u64,
    keyed: PlayerKeys,
}

impl Players {
    /// What is compared: words, the figure by `games`, that by `players`.
    pub fn compared(&self) -> [(&'static str, u64, u64); 5] {
        let (games, players) = (&self.by_games, &self.by_players);
        [
            ("players", self.keys.len() as u64, self.rows),
            (
                "games with White of players",
                games.sides[0],
                players.sides[0],
            ),
            (
                "games with Black of players",
                games.sides[1],
                players.sides[1],
            ),
            ("rated games of players", games.rated, players.rated),
            (
                "hashes of players, a game each",
                games.hashes,
                players.hashes,
            ),
        ]
    }
}

/// Adds the players of a file of games.
pub(super) fn games(path: &Path, players: &mut Players) -> Result<(), Error> {
    let columns = [
        GAMES.white.name(),
        GAMES.black.name(),
        GAMES.white_rating.name(),
        GAMES.black_rating.name(),
    ];
    read(path, &columns, |rows| {
        let names = [rows.read(GAMES.white)?, rows.read(GAMES.black)?];
        let ratings = [
            rows.read(GAMES.white_rating)?,
            rows.read(GAMES.black_rating)?,
        ];
        for (side, (names, ratings)) in names.into_iter().zip(ratings).enumerate() {
            for (row, name) in names.iter().enumerate() {
                let Some(key) = name.and_then(|name| players.keyed.of(name)) else {
                    continue;
                };
                let hash = xxh3_64(key.as_bytes());
                players.keys.insert(hash);
                let sums = &mut players.by_games;
                sums.sides[side] += 1;
                sums.rated += u64::from(ratings.is_valid(row));
                sums.hashes = sums.hashes.wrapping_add(hash);
            }
        }
        Ok(())
    })?;
    Ok(())
}

/// Adds the rows of a file of players; returns their number.
pub(super) fn players(path: &Path, players: &mut Players) -> Result<u64, Error> {
    let columns = [
        PLAYERS.player_key.name(),
        PLAYERS.white_games.name(),
        PLAYERS.black_games.name(),
        PLAYERS.rated_games.name(),
    ];
    let rows = read(path, &columns, |rows| {
        let keys = rows.read(PLAYERS.player_key)?;
        let games = [
            rows.read(PLAYERS.white_games)?,
            rows.read(PLAYERS.black_games)?,
        ];
        let rated = rows.read(PLAYERS.rated_games)?;
        for row in 0..rows.len() {
            let sums = &mut players.by_players;
            let games = games.map(|games| games.value(row) as u64);
            sums.sides[0] += games[0];
            sums.sides[1] += games[1];
            sums.rated += rated.value(row) as u64;
            let hash = xxh3_64(keys.value(row).as_bytes());
            let times = games[0] + games[1];
            sums.hashes = sums.hashes.wrapping_add(hash.wrapping_mul(times));
        }
        Ok(())
    })?;
    players.rows += rows;
    Ok(rows)
}
