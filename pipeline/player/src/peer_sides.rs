//! The peers: sides of the same strata in games without the player.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use crate::first_moves;
use crate::openings::{Opening, Openings};
use crate::sides::{COLUMNS, Cell, Games, Known, Places, Stratum};
use hobble_conditions::{AskError, words};
use hobble_dataset::frame::{SOURCE, collect, text_is};
use hobble_dataset::part;
use hobble_dataset::{Dataset, DatasetError};
use hobble_terms::Table;
use polars::prelude::col;
use shakmaty::Color;

/// The peers: cells, with their sides by fold, and where they are.
#[derive(Debug, Default)]
pub struct Peers {
    /// Cells that occur, sorted.
    pub cells: Vec<Cell>,
    /// Sides by cell and fold.
    pub sides: Vec<[u64; 64]>,
    /// Where they are, by source.
    pub places: BTreeMap<String, Places>,
    /// Different spellings among them.
    pub names: u64,
}

/// Finds them: sides in the player's strata, or in all strata where none are given, played by
/// others in games without the player.
///
/// # Errors
///
/// Where the table cannot be read.
pub fn peers(
    dataset: &Dataset,
    known: &mut Known,
    strata: Option<&BTreeSet<Stratum>>,
    openings: &Openings,
) -> Result<Peers, AskError> {
    // By band, time class, colour and opening: the number of the cell, if it is compared.
    type Place = (usize, usize, usize, Option<usize>);
    let mut numbers: HashMap<Place, Option<u32>> = HashMap::new();
    let (mut bands, mut classes) = (Vec::new(), Vec::new());
    let mut peers = Peers::default();
    let mut different: HashSet<String> = HashSet::new();
    let by_moves = by_first_moves(dataset, openings)?;
    let parts = dataset.parts(Table::Games)?;
    for (number, group) in part::groups(&parts)? {
        let part = &parts[number];
        let places = peers.places.entry(part.source().to_owned()).or_default();
        let by_moves = by_moves.get(part.source());
        for rows in part.read(&COLUMNS, group)? {
            let rows = rows?;
            let table = Games::of(&rows)?;
            let owns = table.owns(known);
            let band = table.bands.map(|texts| {
                texts.read_as(|word| words::number(&mut bands, word.unwrap_or_default()))
            });
            let class = table
                .class
                .read_as(|word| words::number(&mut classes, word.unwrap_or_default()));
            for row in 0..rows.len() {
                if owns[0].at(row) || owns[1].at(row) {
                    continue;
                }
                let fold = table.id.at(row) % 64;
                let opening = match table.eco.at(row) {
                    Some(code) => openings.group(code),
                    None => by_moves.and_then(|games| games.get(&table.game.at(row)).copied()),
                };
                for (side, band) in band.iter().enumerate() {
                    if !part.looks_at(table.game.at(row) as u32, Color::ALL[side]) {
                        continue;
                    }
                    let place = (band.at(row), class.at(row), side, opening);
                    let number = *numbers.entry(place).or_insert_with(|| {
                        let cell = Cell {
                            opening,
                            ..table.cell(row, side)
                        };
                        let counted = strata.is_none_or(|strata| strata.contains(&cell.stratum));
                        counted.then(|| {
                            peers.cells.push(cell);
                            peers.sides.push([0; 64]);
                            peers.cells.len() as u32 - 1
                        })
                    });
                    let Some(number) = number else { continue };
                    peers.sides[number as usize][fold as usize] += 1;
                    places.set(table.game.at(row), side, number * 64 + fold as u32);
                    if let Some(name) = table.names[side].get(row)
                        && !different.contains(name)
                    {
                        different.insert(name.to_owned());
                    }
                }
            }
        }
    }
    peers.names = different.len() as u64;
    Ok(peers)
}

/// The groups of the games without an ECO code, where first moves tell any apart.
fn by_first_moves(
    dataset: &Dataset,
    openings: &Openings,
) -> Result<first_moves::ByGame<usize>, AskError> {
    if !openings.by_first_moves() {
        return Ok(first_moves::ByGame::new());
    }
    let without = without_code(dataset)?;
    first_moves::read(
        dataset,
        |source, game| {
            without
                .get(source)
                .is_some_and(|games| games.contains(&game))
        },
        |opening| openings.group(opening),
    )
}

/// The games by source that start as usual and have no ECO code.
fn without_code(dataset: &Dataset) -> Result<HashMap<String, HashSet<u64>>, DatasetError> {
    let no_code = text_is("eco", |eco| eco.and_then(Opening::of_eco).is_none());
    let games = dataset
        .frame(Table::Games)?
        .filter(col("start_fen").is_null().and(no_code))
        .select([col(SOURCE), col("game")]);
    let games = collect(games)?;
    let (sources, numbers) = (games.column(SOURCE)?.str()?, games.column("game")?.i32()?);
    let mut without: HashMap<String, HashSet<u64>> = HashMap::new();
    for (source, game) in sources.iter().flatten().zip(numbers.iter().flatten()) {
        // No number of a game is below 0.
        let game = u64::from(game.unsigned_abs());
        match without.get_mut(source) {
            Some(games) => games.insert(game),
            None => {
                let games = without.entry(source.to_owned()).or_default();
                games.insert(game)
            }
        };
    }
    Ok(without)
}
