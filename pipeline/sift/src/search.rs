//! The second count: what the half says in which claims are looked for.

use hobble_conditions::AskError;
use hobble_conditions::any_state::Written;
use hobble_conditions::sum::{State, Sum};
use hobble_dataset::{Dataset, PartId};
use hobble_report::Reported;
use hobble_terms::Table;
use serde::{Deserialize, Serialize};

use crate::answer::OfHalf;
use crate::grid::{Grid, Tried};
use crate::league;
use crate::pieces::Pieces;
use crate::split::{Counts, Half, Shared, Split};
use crate::step::{ABOUT, Step, TO_OPEN, not_yet};

/// What is counted.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Searched {
    /// How the games were parted.
    games: Counts,
    pieces: Pieces,
}

/// What was found in the half in which claims are looked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Found {
    /// Moves that games in both halves have.
    pub(crate) shared: Shared,
    /// How the games were parted.
    pub(crate) games: Counts,
    /// Claims of which there were enough pieces for an interval.
    pub(crate) tested: u64,
    /// Those that passed.
    pub(crate) passed: u64,
    /// Those that the locked half is to be asked, the highest lower limit first.
    pub(crate) claims: Vec<FoundClaim>,
    /// How often the locked half was opened, this time included. Not known before it is.
    #[serde(skip)]
    pub(crate) opening: Option<u32>,
}

/// A claim that was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct FoundClaim {
    /// Its number in the grid.
    at: usize,
    /// What the half said.
    pub(crate) search: OfHalf,
}

impl FoundClaim {
    /// The claim; `None` where a damaged state names one that the grid does not have.
    pub(crate) fn tried<'a>(&self, grid: &'a Grid) -> Option<&'a Tried> {
        grid.tried().get(self.at)
    }
}

impl State for Searched {
    fn add(&mut self, other: Searched) {
        self.games.add(other.games);
        self.pieces.add(other.pieces);
    }
}

impl Sum for Step<Shared> {
    type State = Searched;
    type Answer = Found;

    fn tables(&self) -> &'static [Table] {
        &[Table::Games, Table::Turns]
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<Searched, AskError> {
        let mut searched = Searched::default();
        if let Some(games) = dataset.part(Table::Games, id) {
            let split = Split::of(&games, &self.known)?;
            searched.games = split.counts;
            if let Some(turns) = dataset.part(Table::Turns, id) {
                let games = split.games(Half::Search);
                let sample = dataset.parameters().sample.get();
                searched.pieces = Pieces::searched(&turns, games, &self.grid, sample)?;
            }
        }
        Ok(searched)
    }

    fn answer(&self, dataset: &Dataset, searched: &Searched) -> Result<Found, AskError> {
        let sample = dataset.parameters().sample.get();
        let asked = league::search(&self.grid, &searched.pieces, sample);
        let claims = league::chosen(&self.grid, &asked).into_iter();
        let number = |passes: fn(&league::Asked) -> bool| {
            asked.iter().filter(|asked| passes(asked)).count() as u64
        };
        Ok(Found {
            shared: self.known.clone(),
            games: searched.games,
            tested: number(|asked| asked.p.is_some()),
            passed: number(league::Asked::passes),
            claims: claims
                .map(|at| FoundClaim {
                    at,
                    search: (&asked[at]).into(),
                })
                .collect(),
            opening: None,
        })
    }
}

impl Written for Step<Shared> {
    const ABOUT: &'static str = ABOUT;
    const COUNT: u8 = 2;

    fn name(&self) -> String {
        self.grid.hash()
    }

    fn is_first(&self) -> bool {
        true
    }

    fn reported(&self, _: Found) -> Result<Box<dyn Reported>, AskError> {
        let then = format!("where the other is to be counted, {TO_OPEN}");
        Err(not_yet("what was found in one half", &then))
    }
}
