//! Some of the sides of a dataset's games: rows of the others are passed over.
//!
//! Tables whose rows have a side (`spells`, `turns`, `decisions`, `sides`) are read without the rows of
//! other sides. `games` and `moves` are read whole, since a game has two sides; who reads them asks
//! [`Part::looks_at`](crate::Part::looks_at). The cube of exposure counts games together and cannot be read so.

use std::collections::BTreeMap;
use std::sync::Arc;

use arrow_array::BooleanArray;
use hobble_terms::Table;
use serde::{Deserialize, Serialize};
use shakmaty::Color;

use crate::columns::Rows;
use crate::error::DatasetError;

/// Columns that hold the side of a row.
pub(crate) const COLUMNS: [&str; 2] = ["game", "color"];

/// Whether a row of this table has a side.
pub(crate) fn has_sides(table: Table) -> bool {
    matches!(
        table,
        Table::Spells | Table::Turns | Table::Decisions | Table::Sides
    )
}

/// Sides of a source's games: two bits a game.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SidesOfSource {
    /// White is the lower bit of game `n`, at 2 n.
    bits: Vec<u64>,
}

impl SidesOfSource {
    /// Chooses a side of a game.
    pub fn insert(&mut self, game: u32, color: Color) {
        let (word, bit) = place(game, color);
        if self.bits.len() <= word {
            self.bits.resize(word + 1, 0);
        }
        self.bits[word] |= 1 << bit;
    }

    /// Whether a side of a game is chosen.
    pub fn contains(&self, game: u32, color: Color) -> bool {
        let (word, bit) = place(game, color);
        self.bits.get(word).is_some_and(|bits| bits >> bit & 1 == 1)
    }

    /// Adds the sides chosen in other parts of the source.
    pub fn add(&mut self, other: &SidesOfSource) {
        if self.bits.len() < other.bits.len() {
            self.bits.resize(other.bits.len(), 0);
        }
        for (bits, more) in self.bits.iter_mut().zip(&other.bits) {
            *bits |= more;
        }
    }

    fn sides(&self) -> u64 {
        self.bits
            .iter()
            .map(|bits| u64::from(bits.count_ones()))
            .sum()
    }

    fn games(&self) -> u64 {
        // One bit a game: either side.
        let either = |bits: u64| (bits | bits >> 1) & 0x5555_5555_5555_5555;
        let games = self.bits.iter().map(|&bits| either(bits).count_ones());
        games.map(u64::from).sum()
    }

    /// Which of these rows are of a chosen side.
    pub(crate) fn passing(&self, rows: &Rows) -> Result<BooleanArray, DatasetError> {
        let game = rows.fours("game")?;
        let color = rows.texts("color")?.read_as(|word| match word {
            Some("white") => Some(Color::White),
            Some("black") => Some(Color::Black),
            _ => None,
        });
        let of = |row: usize| {
            let color = color.at(row);
            let color =
                color.ok_or_else(|| rows.bad(format!("row {}: invalid color", rows.place(row))));
            color.map(|color| Some(self.contains(game[row], color)))
        };
        (0..rows.len()).map(of).collect()
    }
}

fn place(game: u32, color: Color) -> (usize, u32) {
    let at = 2 * u64::from(game) + u64::from(color.is_black());
    ((at / 64) as usize, (at % 64) as u32)
}

/// The chosen sides of each source; sources that are not named have none.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ChosenSides {
    sources: BTreeMap<String, Arc<SidesOfSource>>,
    summary: ChosenSummary,
}

/// By what sides are chosen, and how many.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ChosenSummary {
    /// What they have in common, in words.
    pub filters: Vec<String>,
    /// Sides chosen.
    pub sides: u64,
    /// Games with a chosen side.
    pub games: u64,
}

impl ChosenSides {
    /// The sides of these sources, and in words what they have in common.
    pub fn of(sources: BTreeMap<String, SidesOfSource>, filters: Vec<String>) -> ChosenSides {
        let summary = ChosenSummary {
            filters,
            sides: sources.values().map(SidesOfSource::sides).sum(),
            games: sources.values().map(SidesOfSource::games).sum(),
        };
        let sources = sources.into_iter();
        ChosenSides {
            sources: sources
                .map(|(source, sides)| (source, Arc::new(sides)))
                .collect(),
            summary,
        }
    }

    /// By what they were chosen, and how many there are.
    pub fn summary(&self) -> &ChosenSummary {
        &self.summary
    }

    /// Those of a source.
    pub(crate) fn of_source(&self, source: &str) -> Arc<SidesOfSource> {
        self.sources.get(source).cloned().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_are_chosen_one_by_one() {
        let mut one = SidesOfSource::default();
        one.insert(31, Color::Black);
        one.insert(32, Color::White);
        let mut other = SidesOfSource::default();
        other.insert(900, Color::White);
        other.insert(31, Color::White);
        one.add(&other);
        for (game, white, black) in [
            (31, true, true),
            (32, true, false),
            (900, true, false),
            (901, false, false),
        ] {
            assert_eq!(one.contains(game, Color::White), white, "{game}");
            assert_eq!(one.contains(game, Color::Black), black, "{game}");
        }
        let chosen = ChosenSides::of(BTreeMap::from([("a".to_owned(), one)]), Vec::new());
        assert_eq!((chosen.summary().sides, chosen.summary().games), (4, 3));
        assert!(chosen.of_source("a").contains(900, Color::White));
        assert!(!chosen.of_source("b").contains(900, Color::White));
    }
}
