//! Players by some letters of their name.

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_dataset::columns::Rows;
use hobble_terms::Table;
use hobble_terms::names::player_key;

/// A player of the tables.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Player {
    /// The commonest spelling of the name.
    pub name: String,
    /// Other spellings, if there are any.
    pub spellings: Option<String>,
    /// Games.
    pub games: u64,
    /// First and last date known.
    pub dates: Option<(String, String)>,
    /// Lowest and highest rating.
    pub ratings: Option<(u64, u64)>,
    /// Title.
    pub title: Option<String>,
}

/// Players whose name or a spelling of it has all of these words, begun or whole: how many, and of
/// them those with most games.
///
/// # Errors
///
/// Where the table of players is missing or unreadable.
pub fn players(
    dataset: &Dataset,
    letters: &str,
    most: usize,
) -> Result<(usize, Vec<Player>), AskError> {
    let key = player_key(letters).unwrap_or_default();
    let words: Vec<&str> = key.split(' ').filter(|word| !word.is_empty()).collect();
    if words.is_empty() && !letters.trim().is_empty() {
        return Ok((0, Vec::new()));
    }
    let (mut number, mut places) = (0, Vec::new());
    let parts = dataset.parts(Table::Players)?;
    for (nth, part) in parts.iter().enumerate() {
        part.each(&["player_key", "white_games", "black_games"], |rows| {
            let has = rows.texts("player_key")?.read_as(|key| {
                let own = || key.into_iter().flat_map(|key| key.split(' '));
                words
                    .iter()
                    .all(|word| own().any(|one| one.starts_with(word)))
            });
            let (white, black) = (rows.numbers("white_games")?, rows.numbers("black_games")?);
            for row in (0..rows.len()).filter(|&row| has.at(row)) {
                number += 1;
                places.push((white.at(row) + black.at(row), nth, rows.place(row)));
            }
            // Few are shown; a list of all players of an archive is not kept.
            if places.len() > 4096 {
                keep_first(&mut places, most);
            }
            Ok::<_, AskError>(())
        })?;
    }
    keep_first(&mut places, most);
    let read = places
        .into_iter()
        .map(|(_, nth, place)| player(&parts[nth], place));
    Ok((number, read.collect::<Result<_, _>>()?))
}

/// Keeps those with most games.
fn keep_first(places: &mut Vec<(u64, usize, usize)>, most: usize) {
    places.sort_by_key(|&(games, nth, place)| (std::cmp::Reverse(games), nth, place));
    places.truncate(most);
}

fn player(part: &hobble_dataset::Part, place: usize) -> Result<Player, AskError> {
    let columns = [
        "player_name",
        "other_spellings",
        "white_games",
        "black_games",
        "first_date",
        "last_date",
        "lowest_rating",
        "highest_rating",
        "title",
    ];
    let rows: Rows = part.read_row(&columns, place)?;
    let text = |name: &str| -> Result<Option<String>, AskError> {
        Ok(rows.texts(name)?.get(0).map(str::to_owned))
    };
    let number =
        |name: &str| -> Result<Option<u64>, AskError> { Ok(rows.optional_numbers(name)?.get(0)) };
    Ok(Player {
        name: rows.first_text("player_name")?,
        spellings: text("other_spellings")?,
        games: rows.first_number("white_games")? + rows.first_number("black_games")?,
        dates: text("first_date")?.zip(text("last_date")?),
        ratings: number("lowest_rating")?.zip(number("highest_rating")?),
        title: text("title")?,
    })
}
