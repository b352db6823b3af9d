//! Games by their opening, the players' ratings and names, seat by seat.

use hobble_conditions::{AskError, Opening};
use hobble_dataset::Dataset;
use hobble_dataset::part::{Group, Part};
use hobble_terms::Table;
use rustc_hash::FxHashMap;

/// What is asked of games. What is empty or `None` asks nothing.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Openings of which the game must have one.
    pub opening: &'a [Opening],
    /// Ratings from the first to the second.
    pub rating: Option<(u16, u16)>,
    /// Part of the name of a player, in either case.
    pub player: Option<&'a str>,
}

/// Whether the player in a seat has what is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seat {
    /// Whether the rating is one of those asked for.
    pub rated: bool,
    /// Whether the name has the part asked for.
    pub named: bool,
}

/// Games of an opening asked for, with the seats of White and Black; `None` for all games.
pub type Seats = Option<FxHashMap<u64, [Seat; 2]>>;

impl Asked<'_> {
    /// The games of the part of another table; `None` where nothing is asked of games.
    ///
    /// # Errors
    ///
    /// Where the table of games is unreadable or not of its schema.
    pub fn seats(&self, dataset: &Dataset, part: &Part) -> Result<Seats, AskError> {
        if self.opening.is_empty() && self.rating.is_none() && self.player.is_none() {
            return Ok(None);
        }
        let mut seats = FxHashMap::default();
        if let Some(games) = dataset.part(Table::Games, part.id()) {
            for group in games.groups()? {
                self.in_group(&games, group, &mut seats)?;
            }
        }
        Ok(Some(seats))
    }

    fn in_group(
        &self,
        games: &Part,
        group: Group,
        seats: &mut FxHashMap<u64, [Seat; 2]>,
    ) -> Result<(), AskError> {
        let columns = [
            "game",
            "eco",
            "white",
            "black",
            "white_rating",
            "black_rating",
        ];
        let player = self.player.map(str::to_lowercase);
        for rows in games.read(&columns, group)? {
            let rows = rows?;
            let game = rows.numbers("game")?;
            let opening = rows.texts("eco")?.read_as(|code| {
                let is_one = |code: &str| self.opening.iter().any(|one| one.holds(code));
                self.opening.is_empty() || code.is_some_and(is_one)
            });
            let named = |column: &str| {
                let names = rows.texts(column)?;
                Ok::<_, AskError>(names.read_as(|name| match (&player, name) {
                    (None, _) => true,
                    (Some(player), Some(name)) => name.to_lowercase().contains(player),
                    (Some(_), None) => false,
                }))
            };
            let names = [named("white")?, named("black")?];
            let ratings = [
                rows.optional_numbers("white_rating")?,
                rows.optional_numbers("black_rating")?,
            ];
            for row in (0..rows.len()).filter(|row| opening.at(*row)) {
                let seat = |side: usize| Seat {
                    rated: self.rating.is_none_or(|(low, high)| {
                        let within = u64::from(low)..=u64::from(high);
                        let rating = ratings[side].get(row);
                        rating.is_some_and(|rating| within.contains(&rating))
                    }),
                    named: names[side].at(row),
                };
                seats.insert(game.at(row), [seat(0), seat(1)]);
            }
        }
        Ok(())
    }
}
