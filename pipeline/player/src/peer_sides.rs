//! The peers: sides of the same strata in games without the player.

use std::collections::{BTreeSet, HashMap, HashSet};

use crate::first_moves;
use crate::openings::{Opening, Openings};
use crate::sides::{COLUMNS, Cell, Games, Known, Places, Stratum, Whose};
use hobble_conditions::{AskError, words};
use hobble_dataset::columns::Rows;
use hobble_dataset::frame::{collect, text_is};
use hobble_dataset::{Dataset, DatasetError, Part};
use hobble_terms::FOLDS;
use hobble_terms::fold::fold;
use polars::prelude::col;
use serde::{Deserialize, Serialize};
use shakmaty::Color;

/// Whose sides are peers': those of others, in games without the player.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct PeersAsked {
    /// The player's names.
    pub whose: Whose,
    /// The strata looked at; all where none are given.
    pub strata: Option<BTreeSet<Stratum>>,
    /// The groups of openings.
    pub openings: Openings,
}

/// The sides of peers in one part.
#[derive(Debug, Default)]
pub struct PeersOfPart {
    /// Cells that occur.
    pub cells: Vec<Cell>,
    /// Where they are: number of the cell × 64 + fold.
    pub places: Places,
    /// Those places with their number of sides.
    pub sides: HashMap<u32, u64>,
    /// Different spellings among them.
    pub names: HashSet<String>,
}

impl PeersAsked {
    /// Finds them in a part of the table of games.
    ///
    /// # Errors
    ///
    /// Where a table cannot be read.
    pub fn in_part(&self, dataset: &Dataset, part: &Part) -> Result<PeersOfPart, AskError> {
        let mut search = Search {
            asked: self,
            known: Known::of(&self.whose),
            by_moves: by_first_moves(dataset, part, &self.openings)?,
            numbers: HashMap::new(),
            bands: Vec::new(),
            classes: Vec::new(),
            peers: PeersOfPart::default(),
        };
        part.each(&COLUMNS, |rows| search.in_batch(part, rows))?;
        Ok(search.peers)
    }
}

/// Peers found so far.
struct Search<'a> {
    asked: &'a PeersAsked,
    known: Known<'a>,
    /// Groups of the games without an ECO code.
    by_moves: HashMap<u64, usize>,
    /// By band, time class, colour and opening: the number of the cell, if it is compared.
    numbers: HashMap<(usize, usize, usize, Option<usize>), Option<u32>>,
    bands: Vec<String>,
    classes: Vec<String>,
    peers: PeersOfPart,
}

impl Search<'_> {
    fn in_batch(&mut self, part: &Part, rows: &Rows) -> Result<(), AskError> {
        let table = Games::of(rows)?;
        let owns = table.owns(&mut self.known);
        let band = table.bands.map(|texts| {
            texts.read_as(|word| words::number(&mut self.bands, word.unwrap_or_default()))
        });
        let class = table
            .class
            .read_as(|word| words::number(&mut self.classes, word.unwrap_or_default()));
        let peers = &mut self.peers;
        for row in 0..rows.len() {
            if owns[0].at(row) || owns[1].at(row) {
                continue;
            }
            let game = table.game.at(row);
            let fold = u32::from(fold(table.id.at(row)));
            let opening = match table.eco.at(row) {
                Some(code) => self.asked.openings.group(code),
                None => self.by_moves.get(&game).copied(),
            };
            for (side, band) in band.iter().enumerate() {
                if !part.looks_at(game as u32, Color::ALL[side]) {
                    continue;
                }
                let place = (band.at(row), class.at(row), side, opening);
                let number = *self.numbers.entry(place).or_insert_with(|| {
                    let cell = Cell {
                        opening,
                        ..table.cell(row, side)
                    };
                    let strata = self.asked.strata.as_ref();
                    let counted = strata.is_none_or(|strata| strata.contains(&cell.stratum));
                    counted.then(|| {
                        peers.cells.push(cell);
                        peers.cells.len() as u32 - 1
                    })
                });
                let Some(number) = number else { continue };
                let place = number * FOLDS as u32 + fold;
                *peers.sides.entry(place).or_default() += 1;
                peers.places.set(game, side, place);
                if let Some(name) = table.names[side].get(row)
                    && !peers.names.contains(name)
                {
                    peers.names.insert(name.to_owned());
                }
            }
        }
        Ok(())
    }
}

/// The groups of the games of a part without an ECO code, where first moves tell any apart.
fn by_first_moves(
    dataset: &Dataset,
    part: &Part,
    openings: &Openings,
) -> Result<HashMap<u64, usize>, AskError> {
    if !openings.by_first_moves() {
        return Ok(HashMap::new());
    }
    let without = without_code(part)?;
    let wanted = |game| without.contains(&game);
    first_moves::read(dataset, part.id(), wanted, |opening| {
        openings.group(opening)
    })
}

/// The games of a part that start as usual and have no ECO code.
fn without_code(part: &Part) -> Result<HashSet<u64>, DatasetError> {
    let no_code = text_is("eco", |eco| eco.and_then(Opening::of_eco).is_none());
    let games = part
        .frame()?
        .filter(col("start_fen").is_null().and(no_code))
        .select([col("game")]);
    let games = collect(games)?;
    // No number of a game is below 0.
    let games = games.column("game")?.i32()?.iter().flatten();
    Ok(games.map(|game| u64::from(game.unsigned_abs())).collect())
}
