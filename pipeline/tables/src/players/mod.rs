//! The table `players`: its columns, and what is known of one player.

pub(crate) mod one_player;

use crate::column::Text;
use crate::declare::{Small, table};
use crate::game_facts::player_fold;
use one_player::OnePlayer;

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

impl PlayerColumns {
    /// Adds a player.
    pub(crate) fn push(&mut self, key: &str, player: &OnePlayer) {
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
