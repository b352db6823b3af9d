//! The table `players`: one row a player, from the games of all archives together.
//!
//! It is written when a scan has ended, like the cube of the whole: `write` goes through `games`,
//! and through `sides` for titles, as often as it takes to hold no more than so many players at a
//! time.

mod one_player;
mod rounds;

use std::path::Path;

use hobble_terms::Table;
use hobble_terms::manifest::{Manifest, OneFile};
use hobble_terms::table::ALL_SOURCES;

use crate::coded_pages::Encoder;
use crate::column::Text;
use crate::declare::{Small, table};
use crate::error::Error;
use crate::game_facts::player_fold;
use crate::layouts::Layouts;
use crate::part::{PartWriter, remove_unnamed};
use one_player::OnePlayer;
use rounds::Rounds;

table! {
    /// One row a player: all games of a player key in all archives. Written when the scan has
    /// ended, in the order of a hash of the key. Sides without a player key are in no row.
    Players, schema 2, row "player_key";
    columns PlayerColumns;
    handles PlayerHandles, PLAYERS;

    /// Key of the player: equal for the spellings of a name (definitions, section 9).
    player_key: Text;
    /// Group of the player: hash of the player key modulo 64.
    player_fold: Small;
    /// Commonest spelling of the name; of equally common ones the first by its bytes.
    player_name: Text;
    /// Number of spellings.
    spellings: i32, unit "spellings";
    /// The other spellings, the commonest first, parted by ` / `.
    other_spellings: Option<Text>, null "one spelling only";
    /// Games with White.
    white_games: i32, unit "games";
    /// Games with Black.
    black_games: i32, unit "games";
    /// First date of a game, of dates that are known to the day.
    first_date: Option<Text>, null "no date known to the day";
    /// Last date of a game, of dates that are known to the day.
    last_date: Option<Text>, null "no date known to the day";
    /// Games in which the player had a rating.
    rated_games: i32, unit "games";
    /// Lowest rating.
    lowest_rating: Option<i16>, unit "rating points", null "never rated";
    /// Median of the ratings of all rated games; of an even number the lower of the middle two.
    median_rating: Option<i16>, unit "rating points", null "never rated";
    /// Highest rating.
    highest_rating: Option<i16>, unit "rating points", null "never rated";
    /// Commonest title in the table `sides`; of equally common ones the first by its bytes.
    title: Option<Text>, null "no title in any game, or a scan without the table sides";
}

/// Rows of a row group.
const ROWS: usize = 1 << 16;

/// Most players held at a time: some 100 MB. Ten million games of a million players take four
/// rounds.
const MOST_PLAYERS: usize = 1 << 18;

impl PlayerColumns {
    fn push(&mut self, key: &str, player: &OnePlayer) {
        let spellings = player.spellings();
        self.player_key.push(key);
        self.player_fold.push(player_fold(key));
        self.player_name
            .push(spellings.first().copied().unwrap_or(key));
        self.spellings.push(spellings.len() as i32);
        let others = spellings.get(1..).unwrap_or_default().join(" / ");
        self.other_spellings
            .push((!others.is_empty()).then_some(others.as_str()));
        let [white, black] = player.games();
        self.white_games.push(white);
        self.black_games.push(black);
        let [first, last] = player.dates();
        self.first_date.push(first);
        self.last_date.push(last);
        let ratings = player.ratings();
        self.rated_games.push(ratings.games);
        self.lowest_rating.push(ratings.lowest);
        self.median_rating.push(ratings.median);
        self.highest_rating.push(ratings.highest);
        self.title.push(player.title());
    }
}

/// Writes the players of a finished scan, where its parameters ask for them, and names the file in
/// the manifest.
///
/// # Errors
///
/// Where tables cannot be read or written.
pub(crate) fn write(folder: &Path, manifest: &mut Manifest) -> Result<(), Error> {
    if manifest.players.is_some() || !manifest.parameters.tables.contains(&Table::Players) {
        return Ok(());
    }
    let part = manifest.part_count();
    let layouts = Layouts::new(&[Table::Players]).map_err(Error::Encode)?;
    let mut writer = PartWriter::create(folder, ALL_SOURCES, part, &layouts)?;
    let mut rows = PlayerColumns::default();
    let mut encoder = Encoder::default();
    let mut end_group = |rows: &mut PlayerColumns| -> Result<(), Error> {
        let layout = layouts.of(Table::Players);
        let group = layout.encode(rows.columns(), &mut encoder);
        match group.map_err(Error::Encode)? {
            Some(group) => writer.append(Table::Players, group),
            None => Ok(()),
        }
    };
    let mut rounds = Rounds::new(folder, manifest, MOST_PLAYERS);
    while let Some(players) = rounds.next_round()? {
        for (_, key, player) in players {
            rows.push(&key, &player);
            if rows.row_count() == ROWS {
                end_group(&mut rows)?;
            }
        }
    }
    end_group(&mut rows)?;
    let sizes = writer.finish()?;
    manifest.players = sizes
        .get(&Table::Players)
        .map(|&size| OneFile { part, size });
    manifest.save(folder)?;
    let named = Table::Players.part_file(folder, ALL_SOURCES, part);
    remove_unnamed(&Table::Players.source_folder(folder, ALL_SOURCES), &[named])
}
