//! Finds games in the tables, and reads what names a game.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use rayon::prelude::*;

use crate::reference::GameReference;
use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_dataset::part::{Group, Part};
use hobble_report::sections::file_name;
use hobble_terms::Table;

/// Parts of a table of which the footers are kept while games are read from them. Where there are more, the footer is
/// read anew with each game: it takes up to half a megabyte, and an answer shows games of hundreds of parts.
const KEPT_OPEN: usize = 8;

/// Where some games stand in a table: a part, the first row and the number of rows.
pub struct Place {
    part: Part,
    /// Whether the part keeps its footer.
    kept_open: bool,
    /// First row.
    pub first: usize,
    /// Number of rows up to the game's last.
    pub rows: usize,
}

impl Place {
    /// The part, to read the game from.
    pub fn part(&self) -> Part {
        if self.kept_open {
            self.part.clone()
        } else {
            self.part.reopened()
        }
    }
}

/// Rows of a row group, by the number of their game.
type RowsOfGames = BTreeMap<u64, Range<usize>>;

/// Where games stand in a table; those that are not there are left out.
///
/// # Errors
///
/// Where the table cannot be read.
pub fn locate(
    dataset: &Dataset,
    table: Table,
    wanted: &BTreeSet<(String, u64)>,
) -> Result<BTreeMap<(String, u64), Place>, AskError> {
    let parts = dataset.parts(table)?;
    let kept_open = parts.len() <= KEPT_OPEN;
    // What is known of a file goes with it, unless one of the games is there and the parts are few.
    let found: Vec<(Part, Vec<RowsOfGames>)> = parts
        .into_par_iter()
        .map(|part| {
            let of_source = wanted.iter().filter(|key| key.0 == part.source());
            let wanted: BTreeSet<u64> = of_source.map(|key| key.1).collect();
            let in_group = |group| {
                let mut games = BTreeSet::new();
                for &game in &wanted {
                    if part.may_hold(group, "game", game)? {
                        games.insert(game);
                    }
                }
                places(&part, group, &games)
            };
            let groups = if wanted.is_empty() {
                Vec::new()
            } else {
                part.groups()?
            };
            let games: Vec<_> = groups
                .into_par_iter()
                .map(in_group)
                .collect::<Result<_, AskError>>()?;
            let any = games.iter().any(|games| !games.is_empty());
            let part = if kept_open { part } else { part.reopened() };
            Ok(any.then_some((part, games)))
        })
        .filter_map(Result::transpose)
        .collect::<Result<_, AskError>>()?;
    let mut all: BTreeMap<(String, u64), Place> = BTreeMap::new();
    for (part, groups) in found {
        for (game, rows) in groups.into_iter().flatten() {
            // A game may go on in the next row group.
            let key = (part.source().to_owned(), game);
            let place = all.entry(key).or_insert_with(|| Place {
                part: part.clone(),
                kept_open,
                first: rows.start,
                rows: 0,
            });
            if place.part.path() == part.path() {
                place.rows = rows.end - place.first;
            }
        }
    }
    Ok(all)
}

/// From the first to the last row of each wanted game in a row group.
fn places(
    part: &Part,
    group: Group,
    wanted: &BTreeSet<u64>,
) -> Result<BTreeMap<u64, Range<usize>>, AskError> {
    let mut places: BTreeMap<u64, Range<usize>> = BTreeMap::new();
    if wanted.is_empty() {
        return Ok(places);
    }
    for rows in part.read(&["game"], group)? {
        let rows = rows?;
        let games = rows.fours("game")?;
        let mut row = 0;
        for run in games.chunk_by(|a, b| a == b) {
            let game = u64::from(run[0]);
            if wanted.contains(&game) {
                let place = rows.place(row);
                let of_game = places.entry(game).or_insert(place..place);
                of_game.end = place + run.len();
            }
            row += run.len();
        }
    }
    Ok(places)
}

/// Where the game begins in its archive, in bytes.
///
/// # Errors
///
/// Where the table is unreadable.
pub fn offset(place: &Place) -> Result<u64, AskError> {
    let row = place.part().read_row(&["byte_offset"], place.first)?;
    Ok(row.first_number("byte_offset")?)
}

/// The game's reference and its start position.
pub fn reference(place: &Place) -> Result<(GameReference, Option<String>), AskError> {
    let columns = [
        "game",
        "game_id",
        "file",
        "line",
        "event",
        "date",
        "round",
        "white",
        "black",
        "result",
        "white_rating",
        "black_rating",
        "start_fen",
    ];
    let rows = place.part().read_row(&columns, place.first)?;
    let text = |name: &str| -> Result<Option<String>, AskError> {
        Ok(rows.texts(name)?.get(0).map(str::to_owned))
    };
    let rating = |name: &str| -> Result<Option<u16>, AskError> {
        let rating = rows.optional_numbers(name)?.get(0);
        Ok(rating.and_then(|rating| u16::try_from(rating).ok()))
    };
    let number = rows.first_number("game")?;
    let mut game = GameReference {
        source: place.part.source().to_owned(),
        number: u32::try_from(number)
            .map_err(|_| rows.bad("column \"game\" is out of range".to_owned()))?,
        game_id: format!("{:016x}", rows.first_number("game_id")?),
        file: rows.first_text("file")?,
        line: rows.first_number("line")?,
        white: text("white")?,
        black: text("black")?,
        white_rating: rating("white_rating")?,
        black_rating: rating("black_rating")?,
        event: text("event")?,
        date: text("date")?,
        round: text("round")?,
        result: rows.first_text("result")?,
        label: String::new(),
    };
    game.label = game_label(&game);
    Ok((game, text("start_fen")?))
}

/// `Ada – Bea, Club night, round 3, 2024.01.05, 1-0 (game 17, line 204 of club.pgn)`.
fn game_label(game: &GameReference) -> String {
    let player = |name: &Option<String>, rating: Option<u16>| {
        let name = name.as_deref().unwrap_or("unknown player");
        rating.map_or_else(|| name.to_owned(), |rating| format!("{name} ({rating})"))
    };
    let mut label = format!(
        "{} \u{2013} {}",
        player(&game.white, game.white_rating),
        player(&game.black, game.black_rating)
    );
    for more in [
        game.event.clone(),
        game.round.as_ref().map(|round| format!("round {round}")),
        game.date.clone(),
        Some(game.result.clone()),
    ]
    .into_iter()
    .flatten()
    {
        label.push_str(", ");
        label.push_str(&more);
    }
    label.push_str(&format!(
        " (game {}, line {} of {})",
        game.number,
        game.line,
        file_name(&game.file)
    ));
    label
}
