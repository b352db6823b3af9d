//! What is counted for a report by rating band: `part -> state` and `state + state`.

use serde::{Deserialize, Serialize};

use super::by_level::{count_chances, count_moves, count_spells};
use super::counts::{Cells, FOLDS, Folds, Place, Ratio};
use super::cube::{self, Held, Strata, no_strata};
use super::file::BandReport;
use super::games::Games;
use super::measures::Split;
use super::of_sides::OfSides;
use super::per_side::PerSide;
use super::side_tables::SideTables;
use super::{chances, held_turns, moves, sides_of_part, spells};
use hobble_conditions::AskError;
use hobble_conditions::sum;
use hobble_conditions::terms::YesNo;
use hobble_dataset::{Dataset, PartId};
use hobble_terms::Table;

/// Counts of a report. Its size depends on the levels met, not on the number of games.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(from = "Written", into = "Written")]
pub struct State {
    /// Numerators and denominators of every cell.
    pub cells: Cells,
    /// Held turns and losses by level and stratum.
    pub held: Held,
    /// What the table `sides` says.
    pub of_sides: OfSides,
}

impl State {
    /// Counts a part.
    pub fn of(report: &BandReport, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        // Rows of one kind are set against that kind as a whole.
        let mut splits = vec![Split::All, Split::Kind];
        splits.extend(report.split.iter().filter(|split| **split != Split::Kind));
        let games = match dataset.part(Table::Games, id) {
            Some(part) => Games::read(&part)?,
            None => Games::default(),
        };
        let asked = spells::Asked {
            k: report.k,
            within: report.within,
            developed: report.developed,
        };
        let spells = match dataset.part(Table::Spells, id) {
            Some(part) => spells::read(&part, &games, asked)?,
            None => PerSide::default(),
        };
        let moves = match dataset.part(Table::Moves, id) {
            Some(part) => moves::read(&part, &games)?,
            None => PerSide::default(),
        };
        let sample = u64::from(dataset.parameters().sample.get());
        let mut state = State::default();
        let of_groups = spells.by_group(&games);
        count_spells(
            &games,
            &of_groups,
            &splits,
            report.developed,
            &mut state.cells,
        );
        count_moves(&games, &moves.by_group(&games), &splits, &mut state.cells);
        let mut tables = SideTables {
            spells,
            moves,
            ..SideTables::default()
        };
        if let Some(part) = dataset.part(Table::Decisions, id) {
            tables.chances = chances::read(&part, &games)?;
            let of_groups = tables.chances.by_group(&games);
            count_chances(&games, &of_groups, sample, &splits, &mut state.cells);
        }
        if dataset.summary().chosen.is_some() {
            if let Some(part) = dataset.part(Table::Turns, id) {
                let asked = held_turns::Asked {
                    k: report.k,
                    within: report.within,
                    sample,
                };
                let (held, turns) = held_turns::read(&part, asked, &splits, &mut state.cells)?;
                state.held = held;
                tables.turns = Some(turns);
            }
        } else if let Some(part) = dataset.part(Table::Exposure, id) {
            let asked = (report.k, report.within);
            let cells = &mut state.cells;
            state.held = cube::read(&part, asked, report.developed, &splits, cells)?;
        }
        if let Some(part) = dataset.part(Table::Sides, id) {
            state.of_sides = sides_of_part::read(&part, report, &tables)?;
            if report.developed == YesNo::Yes {
                state.of_sides.count(&splits, &mut state.cells);
            }
        }
        Ok(state)
    }
}

impl sum::State for State {
    fn add(&mut self, other: State) {
        for (place, counts) in other.cells {
            let sums = self.cells.entry(place).or_insert([Ratio::default(); FOLDS]);
            for (sum, count) in sums.iter_mut().zip(counts) {
                sum.add(count.events, count.trials);
            }
        }
        self.held.add(other.held);
        self.of_sides.add(other.of_sides);
    }
}

/// Counts by fold that are not 0: fold, events, trials.
type SomeFolds = Vec<(usize, u64, u64)>;

/// Counts by stratum, as long as they are not 0.
type SomeStrata = Vec<(usize, SomeFolds)>;

/// A state as it is written: what is 0 is left out.
#[derive(Serialize, Deserialize)]
struct Written {
    cells: Vec<(Place, SomeFolds)>,
    levels: Vec<((Split, String), SomeStrata)>,
    all: SomeStrata,
    of_sides: OfSides,
}

impl From<State> for Written {
    fn from(state: State) -> Written {
        let cell = |(place, folds): (Place, Folds)| (place, some_folds(&folds));
        let level = |(level, strata): ((Split, String), Strata)| (level, some_strata(&strata));
        Written {
            cells: state.cells.into_iter().map(cell).collect(),
            levels: state.held.levels.into_iter().map(level).collect(),
            all: some_strata(&state.held.all),
            of_sides: state.of_sides,
        }
    }
}

impl From<Written> for State {
    fn from(written: Written) -> State {
        let cell = |(place, folds): (Place, SomeFolds)| (place, all_folds(&folds));
        let level = |(level, strata): ((Split, String), SomeStrata)| (level, all_strata(&strata));
        State {
            cells: written.cells.into_iter().map(cell).collect(),
            held: Held {
                levels: written.levels.into_iter().map(level).collect(),
                all: all_strata(&written.all),
            },
            of_sides: written.of_sides,
        }
    }
}

fn some_folds(folds: &Folds) -> SomeFolds {
    let there = |ratio: &Ratio| (ratio.events, ratio.trials) != (0, 0);
    let folds = folds.iter().enumerate().filter(|(_, ratio)| there(ratio));
    folds
        .map(|(fold, ratio)| (fold, ratio.events, ratio.trials))
        .collect()
}

fn all_folds(some: &SomeFolds) -> Folds {
    let mut folds = [Ratio::default(); FOLDS];
    for &(fold, events, trials) in some {
        folds[fold % FOLDS].add(events, trials);
    }
    folds
}

fn some_strata(strata: &Strata) -> SomeStrata {
    let strata = strata.iter().map(some_folds).enumerate();
    strata.filter(|(_, folds)| !folds.is_empty()).collect()
}

fn all_strata(some: &SomeStrata) -> Strata {
    let mut strata = no_strata();
    for (number, folds) in some {
        if let Some(stratum) = strata.get_mut(*number) {
            *stratum = all_folds(folds);
        }
    }
    strata
}
